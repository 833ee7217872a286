"""How long the towels in use have been in use."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.job.state import Job


def towels_spent_at_utc(job: Job) -> datetime | None:
    """When so many panels had been levelled with the same towels as the sheet allows."""
    coating = job.product("coating")
    most = coating.panels_per_towel if coating else None
    since_utc = job.towels_changed_at_utc or job.opened_at_utc
    used = sorted(
        part.coat.levelled_at_utc
        for part in job.parts.values()
        if part.coat.levelled_at_utc
        and part.coat.levelled_at_utc > since_utc
        and not part.coat.included_in
    )
    return used[most - 1] if most and len(used) >= most else None
