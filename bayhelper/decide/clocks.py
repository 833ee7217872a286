"""The instants of a panel's clock: earliest and best count from covered, latest from started."""

from __future__ import annotations

from datetime import datetime, timedelta

from bayhelper.decide.job import Part
from bayhelper.reckon.window import closing_margin_s, first_trial_s, next_trial_s

WIPE_BEFORE_CLOSING_S = 30.0
"""Wiping is called this long before the panel is closing, when a long lay-down ate the window."""
GRABBED_CLOSING_S = 15.0
"""A panel that grabbed at a trial is closing, at the latest, this long after the trial."""
GRABBED_LATEST_S = 30.0
"""A panel that grabbed at a trial must be levelled within this time."""


def covered_at_utc(part: Part) -> datetime | None:
    """Covered, or when it will be if the person is as quick as usual."""
    if part.covered_at_utc is not None:
        return part.covered_at_utc
    if part.started_at_utc is None:
        return None
    return part.started_at_utc + timedelta(seconds=part.usual_s)


def earliest_at_utc(part: Part) -> datetime | None:
    """Not before this: counted from the last stroke."""
    covered = covered_at_utc(part)
    if covered is None or part.window is None:
        return None
    return covered + timedelta(seconds=part.window.earliest_s)


def grabbed_at_utc(part: Part) -> datetime | None:
    """When a trial first grabbed, unless the panel was given more time."""
    covered = covered_at_utc(part)
    grabbed_s = [at_s for at_s, result in part.trials if result == "grabbing"]
    if covered is None or not grabbed_s or part.extra_s > 0:
        return None
    return covered + timedelta(seconds=grabbed_s[0])


def latest_at_utc(part: Part) -> datetime | None:
    """Not later than this: counted from the first stroke, and soon when a trial grabbed."""
    if part.started_at_utc is None or part.window is None:
        return None
    latest = part.started_at_utc + timedelta(seconds=part.window.latest_s + part.extra_s)
    grabbed = grabbed_at_utc(part)
    return min(latest, grabbed + timedelta(seconds=GRABBED_LATEST_S)) if grabbed else latest


def closing_at_utc(part: Part) -> datetime | None:
    """From here on the panel is closing."""
    if part.started_at_utc is None or part.window is None:
        return None
    late_s = part.window.latest_s + part.extra_s - closing_margin_s(part.window)
    closing = part.started_at_utc + timedelta(seconds=late_s)
    grabbed = grabbed_at_utc(part)
    return min(closing, grabbed + timedelta(seconds=GRABBED_CLOSING_S)) if grabbed else closing


def best_at_utc(part: Part) -> datetime | None:
    """Aim for this: counted from the last stroke.

    Sooner when a long lay-down ate the window, so that wiping is called before the panel is
    closing; but never before the earliest instant.
    """
    covered, earliest, closing = covered_at_utc(part), earliest_at_utc(part), closing_at_utc(part)
    if covered is None or earliest is None or closing is None or part.window is None:
        return None
    best = covered + timedelta(seconds=part.window.best_s + part.extra_s)
    return max(earliest, min(best, closing - timedelta(seconds=WIPE_BEFORE_CLOSING_S)))


def trial_at_utc(part: Part) -> datetime | None:
    """When a trial wipe may be made, or made again after a wet one; else None."""
    covered = covered_at_utc(part)
    if covered is None or part.window is None:
        return None
    if not part.trials:
        return covered + timedelta(seconds=first_trial_s(part.window))
    at_s, result = part.trials[-1]
    if result != "wet" or grabbed_at_utc(part) is not None:
        return None
    return covered + timedelta(seconds=next_trial_s(part.window, at_s))
