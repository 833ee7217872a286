"""The instants of a panel's clock: earliest and best count from covered, latest from started."""

from __future__ import annotations

from datetime import datetime, timedelta

from bayhelper.decide.job import Part
from bayhelper.reckon.window import closing_margin_s, first_trial_s


def covered_at_utc(part: Part) -> datetime | None:
    """Covered, or when it will be if the person is as quick as usual."""
    if part.covered_at_utc is not None:
        return part.covered_at_utc
    if part.started_at_utc is None:
        return None
    return part.started_at_utc + timedelta(seconds=part.usual_s)


def latest_at_utc(part: Part) -> datetime | None:
    """Not later than this: counted from the first stroke."""
    if part.started_at_utc is None or part.window is None:
        return None
    return part.started_at_utc + timedelta(seconds=part.window.latest_s + part.extra_s)


def closing_at_utc(part: Part) -> datetime | None:
    """From here on the panel is closing."""
    latest = latest_at_utc(part)
    if latest is None or part.window is None:
        return None
    return latest - timedelta(seconds=closing_margin_s(part.window))


def best_at_utc(part: Part) -> datetime | None:
    """Aim for this: counted from the last stroke, but never after the panel is closing."""
    covered, closing = covered_at_utc(part), closing_at_utc(part)
    if covered is None or closing is None or part.window is None:
        return None
    return min(covered + timedelta(seconds=part.window.best_s + part.extra_s), closing)


def trial_at_utc(part: Part) -> datetime | None:
    """When a first trial wipe may be made; None before it is covered or once one was made."""
    if part.covered_at_utc is None or part.window is None or part.trials:
        return None
    return part.covered_at_utc + timedelta(seconds=first_trial_s(part.window))
