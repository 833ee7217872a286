"""How far the job is in its stage, and which panel comes next."""

from __future__ import annotations

from collections.abc import Callable

from bayhelper.decide.job.recoat import by_recoat
from bayhelper.decide.job.seams import own_panels
from bayhelper.decide.job.state import Job, Part

REACHED: dict[str, Callable[[Job, Part], bool]] = {
    "correction": lambda job, p: p.state not in ("waiting", "machining", "rework"),
    "panel_wipe": lambda job, p: p.layer > 0 or p.state == "prepped",
    "coating": lambda job, p: p.layer >= job.layer and p.state in ("buffed", "done"),
    "cure": lambda job, p: p.state == "done",
}
"""Whether a part has got through a stage."""


def progress(job: Job) -> tuple[int, int]:
    """Panels done in the present stage, of all; of none where the stage has no panels."""
    panels = own_panels(job)
    reached = REACHED.get(job.stage)
    if reached is None:
        return 0, 0
    done = sum(all(reached(job, part) for part in job.parts_of(p.id)) for p in panels)
    return done, len(panels)


def next_panel(job: Job) -> str:
    """The first panel that the present stage has not done; or ''.

    In the body's order, and for a further layer in the order of what is too late first.
    """

    def waits(part: Part) -> bool:
        if job.stage == "correction":
            return part.state in ("waiting", "rework", "machining")
        if job.stage == "panel_wipe":
            return part.state in ("waiting", "machined", "stale")
        if job.stage == "coating":
            return part.layer < job.layer
        return False

    for panel in by_recoat(job, own_panels(job)):
        if any(waits(part) for part in job.parts_of(panel.id)):
            return panel.id
    return ""
