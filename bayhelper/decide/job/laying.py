"""Which part product may go on next, how large it is, and how long that usually takes."""

from __future__ import annotations

from dataclasses import replace

from bayhelper.decide.job import seams
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.state import Job, Part
from bayhelper.reckon.window import usual_lay_down_s

READY = ("prepped", "buffed", "done")
"""States of a part on which product may go without a warning."""


def area_m2(job: Job, panel: str, half: str) -> float:
    """Of a panel or half."""
    known = job.body.panel(panel)
    return (known.area_m2 if known else 1.0) / (2 if half else 1)


def usual_s(job: Job, panel: str, half: str, by: str) -> float:
    """The person's usual lay-down time for a part, seconds."""
    measured = [(m2, s) for who, m2, s in job.lay_downs if who == by]
    return usual_lay_down_s(area_m2(job, panel, half), job.plan.lay_down_s_per_m2, measured)


def layable(job: Job, part: Part) -> bool:
    """Whether the table lets product of the present layer go on the part."""
    next_layer = part.state not in ("buffed", "done") or part.layer < job.layer
    return next_layer and "lay" in panel_triggers(part.state)


def part_to_lay(job: Job, panel: str, half: str) -> Part | None:
    """The part that is meant by a panel and perhaps a half; None when none can be laid.

    Without a half, a panel of which one half was laid means the other half.
    """
    parts = job.parts_of(panel)
    if half:
        whole = not parts[0].half
        found = [job.part(panel, half)] if whole else [p for p in parts if p.half == half]
    else:
        found = list(parts)
    ready = [part for part in found if layable(job, part)]
    if len(ready) == 1:
        return ready[0]
    if ready and len(ready) == len(found):
        return replace(ready[0], half="")
    return None


def left_behind(job: Job, panel: str, by: str) -> Part | None:
    """The part that this person laid last, elsewhere, if its panel still has bare seams."""
    mine = [p for p in job.open_own_parts() if p.coat.by == by and p.panel != panel]
    return mine[-1] if mine and seams.leaving(job, mine[-1].panel) else None
