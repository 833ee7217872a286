"""The instants of a panel's clock: earliest and best count from covered, latest from started."""

from __future__ import annotations

from datetime import datetime, timedelta

from bayhelper.decide.job.state import Part
from bayhelper.reckon.window import closing_margin_s, first_trial_s, next_trial_s

WIPE_BEFORE_CLOSING_S = 30.0
"""Wiping is called this long before the panel is closing, when a long lay-down ate the window."""
GRABBED_LATEST_S = 30.0
"""A panel that grabbed at a trial must be levelled within this time."""


def covered_at_utc(part: Part) -> datetime | None:
    """Covered, or when it will be if the person is as quick as usual."""
    if part.coat.covered_at_utc is not None:
        return part.coat.covered_at_utc
    if part.coat.started_at_utc is None:
        return None
    return part.coat.started_at_utc + timedelta(seconds=part.coat.usual_s)


def earliest_at_utc(part: Part) -> datetime | None:
    """Not before this: counted from the last stroke."""
    covered = covered_at_utc(part)
    if covered is None or part.coat.window is None:
        return None
    return covered + timedelta(seconds=part.coat.window.earliest_s)


def latest_at_utc(part: Part) -> datetime | None:
    """Not later than this: counted from the first stroke, and soon when a trial grabbed."""
    if part.coat.started_at_utc is None or part.coat.window is None:
        return None
    latest = part.coat.started_at_utc + timedelta(seconds=part.coat.window.latest_s + part.coat.extra_s)
    if part.coat.grabbed_at_utc is None:
        return latest
    return min(latest, part.coat.grabbed_at_utc + timedelta(seconds=GRABBED_LATEST_S))


def closing_at_utc(part: Part) -> datetime | None:
    """From here on the panel is closing; a trial that grabbed makes it so at once."""
    if part.coat.started_at_utc is None or part.coat.window is None:
        return None
    late_s = part.coat.window.latest_s + part.coat.extra_s - closing_margin_s(part.coat.window)
    closing = part.coat.started_at_utc + timedelta(seconds=late_s)
    return min(closing, part.coat.grabbed_at_utc) if part.coat.grabbed_at_utc else closing


def best_at_utc(part: Part) -> datetime | None:
    """Aim for this: counted from the last stroke.

    Sooner when a long lay-down ate the window, so that wiping is called before the panel is
    closing; but never before the earliest instant. A trial wipe goes before all figures: from when
    it came clean, or grabbed, the panel is to be wiped.
    """
    covered, earliest, closing = covered_at_utc(part), earliest_at_utc(part), closing_at_utc(part)
    if covered is None or earliest is None or closing is None or part.coat.window is None:
        return None
    best = covered + timedelta(seconds=part.coat.window.best_s + part.coat.extra_s)
    figure = max(earliest, min(best, closing - timedelta(seconds=WIPE_BEFORE_CLOSING_S)))
    tried = [at_utc for at_utc in (part.coat.ready_at_utc, part.coat.grabbed_at_utc) if at_utc is not None]
    return min([figure, *tried])


def trial_at_utc(part: Part, day_known: bool = False) -> datetime | None:
    """When a trial wipe may be made, or made again after a wet one; else None.

    Once the day's figure is known, the first one is worth making at the earliest time.
    """
    covered = covered_at_utc(part)
    if covered is None or part.coat.window is None:
        return None
    if not part.coat.trials:
        first_s = part.coat.window.earliest_s if day_known else first_trial_s(part.coat.window)
        return covered + timedelta(seconds=first_s)
    at_s, result = part.coat.trials[-1]
    if result != "wet" or part.coat.grabbed_at_utc is not None:
        return None
    return covered + timedelta(seconds=next_trial_s(part.coat.window, at_s))
