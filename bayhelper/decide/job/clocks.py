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
    coat = part.coat
    if coat.covered_at_utc is not None:
        return coat.covered_at_utc
    if coat.started_at_utc is None:
        return None
    return coat.started_at_utc + timedelta(seconds=coat.usual_s)


def earliest_at_utc(part: Part) -> datetime | None:
    """Not before this: counted from the last stroke."""
    coat = part.coat
    covered = covered_at_utc(part)
    if covered is None or coat.window is None:
        return None
    return covered + timedelta(seconds=coat.window.earliest_s)


def latest_at_utc(part: Part) -> datetime | None:
    """Not later than this: counted from the first stroke, and soon when a trial grabbed."""
    coat = part.coat
    if coat.started_at_utc is None or coat.window is None:
        return None
    latest = coat.started_at_utc + timedelta(seconds=coat.window.latest_s + coat.extra_s)
    if coat.grabbed_at_utc is None:
        return latest
    return min(latest, coat.grabbed_at_utc + timedelta(seconds=GRABBED_LATEST_S))


def closing_at_utc(part: Part) -> datetime | None:
    """From here on the panel is closing; a trial that grabbed makes it so at once."""
    coat = part.coat
    if coat.started_at_utc is None or coat.window is None:
        return None
    late_s = coat.window.latest_s + coat.extra_s - closing_margin_s(coat.window)
    closing = coat.started_at_utc + timedelta(seconds=late_s)
    return min(closing, coat.grabbed_at_utc) if coat.grabbed_at_utc else closing


def best_at_utc(part: Part) -> datetime | None:
    """Aim for this: counted from the last stroke.

    Sooner when a long lay-down ate the window, so that wiping is called before the panel is
    closing; but never before the earliest instant. A trial wipe goes before all figures: from when
    it came clean, or grabbed, the panel is to be wiped.
    """
    coat = part.coat
    covered, earliest, closing = covered_at_utc(part), earliest_at_utc(part), closing_at_utc(part)
    if covered is None or earliest is None or closing is None or coat.window is None:
        return None
    best = covered + timedelta(seconds=coat.window.best_s + coat.extra_s)
    figure = max(earliest, min(best, closing - timedelta(seconds=WIPE_BEFORE_CLOSING_S)))
    tried = [at_utc for at_utc in (coat.ready_at_utc, coat.grabbed_at_utc) if at_utc is not None]
    return min([figure, *tried])


def trial_at_utc(part: Part, day_known: bool = False) -> datetime | None:
    """When a trial wipe may be made, or made again after a wet one; else None.

    Once the day's figure is known, the first one is worth making at the earliest time.
    """
    coat = part.coat
    covered = covered_at_utc(part)
    if covered is None or coat.window is None:
        return None
    if not coat.trials:
        first_s = coat.window.earliest_s if day_known else first_trial_s(coat.window)
        return covered + timedelta(seconds=first_s)
    at_s, result = coat.trials[-1]
    if result != "wet" or coat.grabbed_at_utc is not None:
        return None
    return covered + timedelta(seconds=next_trial_s(coat.window, at_s))
