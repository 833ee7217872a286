"""Where somebody stands, and the order in which he comes past the seams of the car."""

from __future__ import annotations

from collections.abc import Sequence

from bayhelper.decide.job.state import Job
from bayhelper.reckon.walk import middle_of, place_of, walked
from bayhelper.terms.body import Seam


def stands_at(job: Job, by: str = "") -> str:
    """The panel that this person, or whoever was last, worked on last; '' before any."""
    for decision in reversed(job.decisions):
        if decision.cause != "command" or decision.number in job.undone:
            continue
        if by and decision.slots.get("by", "") != by:
            continue
        for event in reversed(decision.events):
            panel = getattr(event, "panel", "")
            if panel:
                return str(panel)
    return ""


def in_walking_order(job: Job, seams: Sequence[Seam], by: str = "") -> tuple[Seam, ...]:
    """Seams in the order in which one walks past them; the body's where it is not drawn."""
    start = place_of(job.body, (stands_at(job, by),))
    places = [place_of(job.body, (seam.a, seam.b)) for seam in seams]
    known = [place for place in places if place is not None]
    if start is None or len(known) < len(seams):
        return tuple(seams)
    return tuple(seams[number] for number in walked(known, start, middle_of(job.body)))
