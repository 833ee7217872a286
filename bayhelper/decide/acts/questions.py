"""Questions about the job: nothing changes, something is said."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import text_slot
from bayhelper.decide.acts.stages import next_stage
from bayhelper.decide.job.clocks import best_at_utc, latest_at_utc
from bayhelper.decide.job.recoat import by_recoat, recoat_times
from bayhelper.decide.job.seams import bare_seams, own_panels, unwiped_seams
from bayhelper.decide.job.state import Job, Part
from bayhelper.decide.job.walking import in_walking_order
from bayhelper.decide.outcome import Outcome
from bayhelper.terms.body import Seam
from bayhelper.terms.command import Command


def ask_elapsed(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """How long a panel has had, from covered (or started, while it is being laid)."""
    panel = text_slot(command, "panel")
    parts = [p for p in job.parts_of(panel) if p.state in ("laying", "covered")]
    if not parts:
        return answers.answer("no_clock", panel=panel)
    part = parts[0]
    since = part.covered_at_utc or part.started_at_utc or at_utc
    return answers.answer(
        "elapsed",
        panel=panel,
        half=part.half,
        seconds=(at_utc - since).total_seconds(),
        laying=part.covered_at_utc is None,
    )


def ask_remaining(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Time left to aim for and at the latest; without a panel, of the one due first."""
    panel = text_slot(command, "panel")
    parts = [p for p in job.open_parts() if panel in ("", p.panel)]
    if not parts:
        return answers.answer("no_clock", panel=panel)
    part = min(parts, key=lambda p: best_at_utc(p) or at_utc)
    best, latest = best_at_utc(part), latest_at_utc(part)
    return answers.answer(
        "remaining",
        panel=part.panel,
        half=part.half,
        best_in_s=(best - at_utc).total_seconds() if best else 0.0,
        latest_in_s=(latest - at_utc).total_seconds() if latest else 0.0,
    )


def ask_bare(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Bare seams of a panel or of the car, the one first that one comes past first."""
    panel = text_slot(command, "panel")
    return answers.answer("bare", panel=panel, seams=_walked(job, command, bare_seams(job, panel)))


def ask_unwiped(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Seams that product went over and no wipe, in the same order."""
    panel = text_slot(command, "panel")
    seams = _walked(job, command, unwiped_seams(job, panel))
    return answers.answer("unwiped", panel=panel, seams=seams)


def _walked(job: Job, command: Command, seams: tuple[Seam, ...]) -> tuple[str, ...]:
    found = in_walking_order(job, seams, text_slot(command, "by"))
    return tuple(seam.id for seam in found)


def ask_open(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Which panels have product on them."""
    return answers.answer("open", parts=tuple(p.key for p in job.open_parts()))


def ask_where(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Stage, and how many panels of it are done."""
    done, total = progress(job)
    return answers.answer(
        "where", stage=job.stage, done=done, total=total, layer=job.layer, paused=job.paused
    )


REACHED: dict[str, Callable[[Job, Part], bool]] = {
    "correction": lambda job, p: p.state not in ("waiting", "machining", "rework"),
    "panel_wipe": lambda job, p: p.layer > 0 or p.state == "prepped",
    "coating": lambda job, p: p.layer >= job.layer and p.state in ("buffed", "done"),
    "cure": lambda job, p: p.state == "done",
}
"""Whether a part has got through a stage."""


def progress(job: Job) -> tuple[int, int]:
    """Panels done in the present stage, of all."""
    panels = own_panels(job)
    reached = REACHED.get(job.stage)
    if reached is None:
        return 0, 0
    done = sum(all(reached(job, part) for part in job.parts_of(p.id)) for p in panels)
    return done, len(panels)


def ask_next(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """What comes next: an open panel first, then the stage's next panel, layer or stage."""
    waiting = [p for p in job.open_parts() if p.state == "covered"]
    if waiting:
        part = min(waiting, key=lambda p: best_at_utc(p) or at_utc)
        best = best_at_utc(part)
        left_s = (best - at_utc).total_seconds() if best else 0.0
        return answers.answer("next_wipe", panel=part.panel, half=part.half, in_s=left_s)
    panel = next_panel(job)
    opens = _recoat_opens_utc(job, panel)
    if opens is not None and opens > at_utc:
        in_s = (opens - at_utc).total_seconds()
        return answers.answer("next_recoat", panel=panel, in_s=in_s)
    if panel:
        return answers.answer("next_panel", panel=panel, stage=job.stage)
    if job.stage == "coating" and job.layer < job.plan.layers:
        return answers.answer("next_layer", layer=job.layer + 1)
    return answers.answer("next_stage", stage=next_stage(job))


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


def _recoat_opens_utc(job: Job, panel: str) -> datetime | None:
    """When the next layer may go on the panel; None where no layer waits for it."""
    if not panel or job.stage != "coating":
        return None
    times = [recoat_times(job, part) for part in job.parts_of(panel) if part.layer < job.layer]
    return max((t.open_at_utc for t in times if t is not None), default=None)


def say_again(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The last sentence once more."""
    return answers.answer("again", text=job.last_spoken)
