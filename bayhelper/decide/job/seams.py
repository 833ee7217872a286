"""Which seams are bare, which were lapped from either side, on the way on and on the way off.

A seam is bare when product lies on one side of it and neither side was laid over it in this layer;
it is still open while the neighbour is to come, because that lay-down may yet lap it. It is
unwiped when product went over it and no wipe did.
"""

from __future__ import annotations

from bayhelper.decide.job.state import Job
from bayhelper.terms.body import Panel, Seam
from bayhelper.terms.choices import LapAct

WITH_PRODUCT = frozenset({"laying", "covered", "levelled", "buffed", "done"})
"""States of a part on which the product of its layer lies, wiped off or not."""


def coated(job: Job, panel_id: str) -> bool:
    """Whether the plan coats this panel, or it was coated all the same."""
    panel = job.body.panel(panel_id)
    if panel is None:
        return False
    return panel.kind in job.plan.coats or any(part.layer > 0 for part in job.parts_of(panel_id))


def own_panels(job: Job) -> tuple[Panel, ...]:
    """Panels that the plan coats and that are laid for themselves, in the body's order."""
    return tuple(p for p in job.body.panels if p.kind in job.plan.coats and not p.covered_with)


def host(job: Job, panel_id: str) -> str:
    """The panel in whose lay-down this one is included, or itself when it has its own."""
    panel = job.body.panel(panel_id)
    if panel is None or not panel.covered_with:
        return panel_id
    own = any(part.layer > 0 and not part.coat.included_in for part in job.parts_of(panel_id))
    return panel_id if own else panel.covered_with


def laid(job: Job, panel_id: str) -> bool:
    """Whether product of the present layer went on the panel, all of it."""
    return all(
        p.layer >= job.layer and p.state in WITH_PRODUCT - {"laying"}
        for p in job.parts_of(host(job, panel_id))
    )


def touched_by_product(job: Job, panel_id: str) -> bool:
    """Whether product of the present layer went on any of the panel."""
    return any(
        p.layer >= job.layer and p.state in WITH_PRODUCT for p in job.parts_of(host(job, panel_id))
    )


def round_of(job: Job, panel_id: str) -> tuple[Seam, ...]:
    """The seams that 'all round' laps: those to every neighbour that is coated."""
    return tuple(seam for seam in job.body.seams_of(panel_id) if _counts(job, seam))


def lapped(job: Job, seam: Seam, act: LapAct = "laying") -> bool:
    """Whether the seam was lapped in this layer, from either side, on the way on or off."""
    return (seam.id, act, job.layer) in job.laps


def bare_seams(job: Job, panel_id: str = "") -> tuple[Seam, ...]:
    """Seams beside laid panels that neither side was laid over in this layer.

    With a panel, only its own seams; without, those of the whole car.
    """
    return tuple(
        seam
        for seam in _seams(job, panel_id)
        if not lapped(job, seam) and (laid(job, seam.a) or laid(job, seam.b))
    )


def unwiped_seams(job: Job, panel_id: str = "") -> tuple[Seam, ...]:
    """Seams that product went over in this layer and no wipe: the usual cause of high spots."""
    return tuple(
        seam
        for seam in _seams(job, panel_id)
        if lapped(job, seam) and not lapped(job, seam, "wiping")
    )


def leaving(job: Job, panel_id: str) -> tuple[Seam, ...]:
    """Seams to name before the technician leaves a panel: its own, not lapped from any side.

    A panel whose end of lay-down was never said counts as soon as product is on it.
    """
    if not touched_by_product(job, panel_id):
        return ()
    return tuple(seam for seam in round_of(job, panel_id) if not lapped(job, seam))


def across(seam: Seam, panel_id: str) -> str:
    """The panel on the other side of the seam."""
    return seam.b if seam.a == panel_id else seam.a


def seam_between(job: Job, one: str, other: str) -> Seam | None:
    """The seam where two panels meet, or None."""
    return next((s for s in job.body.seams if {s.a, s.b} == {one, other}), None)


def _seams(job: Job, panel_id: str) -> tuple[Seam, ...]:
    if panel_id:
        return round_of(job, panel_id)
    return tuple(seam for seam in job.body.seams if _counts(job, seam))


def _counts(job: Job, seam: Seam) -> bool:
    """Whether both sides are coated, and not in one and the same lay-down."""
    if host(job, seam.a) == host(job, seam.b):
        return False
    return coated(job, seam.a) and coated(job, seam.b)
