"""When the next layer may go on a part, and when it must have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from bayhelper.decide.job.state import Job, Part
from bayhelper.terms.body import Panel

NEVER_UTC = datetime.max.replace(tzinfo=UTC)
"""Later than any clock of a job."""
CLOSING_SHARE = 0.25
"""Re-coating is closing in the last quarter of its time, or in the last CLOSING_S if shorter."""
CLOSING_S = 1800.0
"""At most this long before it is too late, seconds."""


@dataclass(frozen=True)
class RecoatTimes:
    """The second-biggest clock of the day, for one part."""

    open_at_utc: datetime
    """Not before."""
    closing_at_utc: datetime
    """When time for it runs short."""
    missed_at_utc: datetime
    """Not later."""


def by_recoat(job: Job, panels: Sequence[Panel]) -> tuple[Panel, ...]:
    """Panels that wait for the next layer, the one that is too late first first.

    With one layer to a panel after the other that keeps all in their windows, if any order does
    (earliest due date; Jackson 1955). Others stay where they are, behind those.
    """

    def missed(panel: Panel) -> datetime:
        times = [recoat_times(job, part) for part in job.parts_of(panel.id)]
        return min((t.missed_at_utc for t in times if t is not None), default=NEVER_UTC)

    return tuple(sorted(panels, key=missed))


def recoat_times(job: Job, part: Part) -> RecoatTimes | None:
    """The clock of the next layer, counted from buffed; None when no layer is to come."""
    coating = job.product("coating")
    recoat = coating.recoat if coating else None
    if (
        recoat is None
        or part.coat.buffed_at_utc is None
        or part.state not in ("buffed", "done")
        or not 0 < part.layer < job.plan.layers
    ):
        return None
    margin_s = min(CLOSING_S, CLOSING_SHARE * (recoat.max_s - recoat.min_s))
    return RecoatTimes(
        open_at_utc=part.coat.buffed_at_utc + timedelta(seconds=recoat.min_s),
        closing_at_utc=part.coat.buffed_at_utc + timedelta(seconds=recoat.max_s - margin_s),
        missed_at_utc=part.coat.buffed_at_utc + timedelta(seconds=recoat.max_s),
    )
