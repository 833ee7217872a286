"""Questions about the job: nothing changes, something is said."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.job.clocks import best_at_utc, latest_at_utc
from bayhelper.decide.job.progress import next_panel, progress
from bayhelper.decide.job.recoat import recoat_times
from bayhelper.decide.job.seams import bare_seams, unwiped_seams
from bayhelper.decide.job.stages import next_stage
from bayhelper.decide.job.state import Job
from bayhelper.decide.job.walking import in_walking_order
from bayhelper.decide.outcome import Outcome
from bayhelper.terms.body import Seam
from bayhelper.terms.slots import PANEL
from bayhelper.terms.subjects import asking as say


def ask_elapsed(asked: Asked) -> Outcome:
    """How long a panel has had, from covered (or started, while it is being laid)."""
    parts = [p for p in asked.job.parts_of(asked.panel) if p.state in ("laying", "covered")]
    if not parts:
        return answers.answer(say.NoClockReply(panel=asked.panel))
    part = parts[0]
    since_utc = part.coat.covered_at_utc or part.coat.started_at_utc or asked.at_utc
    told = say.ElapsedReply(
        panel=asked.panel,
        half=part.half,
        had_s=(asked.at_utc - since_utc).total_seconds(),
        laying=part.coat.covered_at_utc is None,
    )
    return answers.answer(told)


def ask_remaining(asked: Asked) -> Outcome:
    """Time left to aim for and at the latest; without a panel, of the one due first."""
    at_utc = asked.at_utc
    parts = [p for p in asked.job.open_parts() if asked.panel in ("", p.panel)]
    if not parts:
        return answers.answer(say.NoClockReply(panel=asked.panel))
    part = min(parts, key=lambda p: best_at_utc(p) or at_utc)
    best_utc, latest_utc = best_at_utc(part), latest_at_utc(part)
    told = say.RemainingReply(
        panel=part.panel,
        half=part.half,
        best_in_s=(best_utc - at_utc).total_seconds() if best_utc else 0.0,
        latest_in_s=(latest_utc - at_utc).total_seconds() if latest_utc else 0.0,
    )
    return answers.answer(told)


def ask_bare(asked: Asked) -> Outcome:
    """Bare seams of a panel or of the car, the one first that one comes past first."""
    seams = _walked(asked, bare_seams(asked.job, asked.panel))
    return answers.answer(say.BareReply(panel=asked.panel, seams=seams))


def ask_unwiped(asked: Asked) -> Outcome:
    """Seams that product went over and no wipe, in the same order."""
    seams = _walked(asked, unwiped_seams(asked.job, asked.panel))
    return answers.answer(say.UnwipedReply(panel=asked.panel, seams=seams))


def _walked(asked: Asked, seams: tuple[Seam, ...]) -> tuple[str, ...]:
    return tuple(seam.id for seam in in_walking_order(asked.job, seams, asked.by))


def ask_open(asked: Asked) -> Outcome:
    """Which panels have product on them."""
    keys = tuple(part.key for part in asked.job.open_parts())
    return answers.answer(say.OpenReply(parts=keys))


def ask_where(asked: Asked) -> Outcome:
    """Stage, and how many panels of it are done."""
    job = asked.job
    done, total = progress(job)
    told = say.WhereReply(
        stage=job.stage, done=done, total=total, layer=job.layer, paused=job.paused
    )
    return answers.answer(told)


def ask_next(asked: Asked) -> Outcome:
    """What comes next: an open panel first, then the stage's next panel, layer or stage."""
    job, at_utc = asked.job, asked.at_utc
    waiting = [p for p in job.open_parts() if p.state == "covered"]
    if waiting:
        part = min(waiting, key=lambda p: best_at_utc(p) or at_utc)
        best_utc = best_at_utc(part)
        in_s = (best_utc - at_utc).total_seconds() if best_utc else 0.0
        return answers.answer(say.NextWipeReply(panel=part.panel, half=part.half, in_s=in_s))
    panel = next_panel(job)
    opens_utc = _recoat_opens_utc(job, panel)
    if opens_utc is not None and opens_utc > at_utc:
        in_s = (opens_utc - at_utc).total_seconds()
        return answers.answer(say.NextRecoatReply(panel=panel, in_s=in_s))
    if panel:
        return answers.answer(say.NextPanelReply(panel=panel, stage=job.stage))
    if job.stage == "coating" and job.layer < job.plan.layers:
        return answers.answer(say.NextLayerReply(layer=job.layer + 1))
    return answers.answer(say.NextStageReply(stage=next_stage(job) or ""))


def _recoat_opens_utc(job: Job, panel: str) -> datetime | None:
    """When the next layer may go on the panel; None where no layer waits for it."""
    if not panel or job.stage != "coating":
        return None
    times = [recoat_times(job, part) for part in job.parts_of(panel) if part.layer < job.layer]
    return max((t.open_at_utc for t in times if t is not None), default=None)


def say_again(asked: Asked) -> Outcome:
    """The last sentence once more."""
    return answers.answer(say.AgainReply(text=asked.job.last_spoken))


ACTS = (
    Act(
        "ask_elapsed",
        "How long a panel has had.",
        ask_elapsed,
        needs=(PANEL,),
        keeps_question=True,
    ),
    Act(
        "ask_remaining",
        "Time left on a panel.",
        ask_remaining,
        may=(PANEL,),
        keeps_question=True,
    ),
    Act("ask_bare", "Which seams are bare.", ask_bare, may=(PANEL,), keeps_question=True),
    Act("ask_unwiped", "Which seams are unwiped.", ask_unwiped, may=(PANEL,), keeps_question=True),
    Act("ask_next", "What comes next.", ask_next, keeps_question=True),
    Act("ask_where", "Where the job stands.", ask_where, keeps_question=True),
    Act("ask_open", "Which panels are open.", ask_open, keeps_question=True),
    Act("say_again", "Repeat the last sentence.", say_again, keeps_question=True),
)
"""What can be asked."""
