"""What must not happen to the car until when, from the last panel that was buffed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from bayhelper.decide.job.state import Job
from bayhelper.terms.product import Keep


@dataclass(frozen=True)
class Kept:
    """One rule of the sheet with its instant."""

    keep: Keep
    """The rule."""
    until_utc: datetime
    """When it ends."""


def kept_until(job: Job) -> tuple[Kept, ...]:
    """The coating's rules, the one that ends first first; none before anything was buffed."""
    coating = job.product("coating")
    buffed = [
        part.coat.buffed_at_utc
        for part in job.parts.values()
        if part.coat.buffed_at_utc is not None
    ]
    if coating is None or not buffed:
        return ()
    found = [Kept(keep, max(buffed) + timedelta(hours=keep.hours)) for keep in coating.keep]
    return tuple(sorted(found, key=lambda kept: kept.until_utc))
