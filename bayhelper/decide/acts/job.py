"""Opening and closing the job, its stages, and pausing."""

from __future__ import annotations

from collections.abc import Iterator

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.acts.surfaces import air_events
from bayhelper.decide.job.curing import kept_until
from bayhelper.decide.job.seams import bare_seams, unwiped_seams
from bayhelper.decide.job.stages import follows, may_start, next_stage, running_stage, seen
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.slots import BODY, PLAN, STAGE
from bayhelper.terms.subjects import job as say


def open_job(asked: Asked) -> Outcome:
    """A new job, with copies of every sheet it starts from, in its first stage."""
    desk, at_utc = asked.desk, asked.at_utc
    plan_id = PLAN.given(asked.command) or desk.plan
    body_id = BODY.given(asked.command) or desk.body
    if plan_id not in desk.plans or body_id not in desk.bodies:
        return answers.answer(say.NoSuchSheetRefusal())
    plan = desk.plans[plan_id]
    if not follows(plan.stages):
        return answers.answer(say.PlanImpossibleRefusal())
    opened = ev.JobOpened(
        at_utc=at_utc,
        job=desk.next_job,
        plan=plan,
        body=desk.bodies[body_id],
        products=tuple(
            desk.products[name]
            for name in sorted(set(plan.products.values()))
            if name in desk.products
        ),
        technicians=desk.technicians,
        dialect=desk.dialect,
        steering=desk.steering,
        car=desk.car,
        air_stale_s=desk.air_stale_s,
    )
    air = air_events(*desk.air, at_utc, at_utc, "settings") if desk.air else ()
    batch = (ev.BatchRead(at_utc=at_utc, batch=desk.batch),) if desk.batch else ()
    first = plan.stages[0]
    started = ev.StageStarted(at_utc=at_utc, stage=first)
    told = say.OpenedReply(plan=plan.name, stage=first)
    outcome = answers.did((opened, started, *air, *batch), told)
    return _with_cautions(outcome, plan.cautions.get(first, ()))


def start_stage(asked: Asked) -> Outcome:
    """The stage begins; its cautions are said the first time."""
    job, stage = asked.job, STAGE.of(asked.command)
    if stage == job.stage:
        return answers.answer(say.StageAlreadyReply(stage=stage))
    if stage not in may_start(job):
        return answers.answer(say.StageNotNowRefusal(stage=stage, now=job.stage))
    started = ev.StageStarted(at_utc=asked.at_utc, stage=stage)
    outcome = answers.did((started,), say.StageStartedReply(stage=stage))
    if stage == "cure":
        outcome = answers.also(outcome, *_keeping(asked))
    return _with_cautions(outcome, () if seen(job, stage) else job.plan.cautions.get(stage, ()))


def _keeping(asked: Asked) -> Iterator[say.KeepReply]:
    """What the car must be kept from, for as long as that still lasts."""
    for kept in kept_until(asked.job):
        left_s = (kept.until_utc - asked.at_utc).total_seconds()
        if left_s > 0:
            yield say.KeepReply(rule=kept.keep.rule, for_s=left_s)


def finish_stage(asked: Asked) -> Outcome:
    """The stage is done; the next one is named, and begins when somebody begins it."""
    job, named = asked.job, STAGE.given(asked.command)
    if named is not None and named != job.stage:
        return answers.answer(say.StageNotRunningRefusal(stage=named, now=job.stage))
    stage = running_stage(job)
    finished = ev.StageFinished(at_utc=asked.at_utc, stage=stage)
    told = say.StageFinishedReply(stage=stage, following=next_stage(job) or "")
    return answers.did((finished,), told)


def pause_job(asked: Asked) -> Outcome:
    """Working time stops; a panel's clock never does, so open panels are named first."""
    keys = tuple(part.key for part in asked.job.open_parts())
    if keys and not asked.insisted:
        return answers.ask_yes_no(asked, say.PauseOpenQuestion(parts=keys))
    return answers.did((ev.JobPaused(at_utc=asked.at_utc),), say.PausedReply(parts=keys))


def resume_job(asked: Asked) -> Outcome:
    """Working time goes on."""
    resumed = ev.JobResumed(at_utc=asked.at_utc)
    return answers.did((resumed,), say.ResumedReply(stage=asked.job.stage))


def close_job(asked: Asked) -> Outcome:
    """The job ends, which cannot be taken back, so it always wants a yes.

    Open panels, bare and unwiped seams are told in the question and kept in the record.
    """
    job = asked.job
    keys = tuple(part.key for part in job.open_parts())
    bare = tuple(seam.id for seam in bare_seams(job))
    unwiped = tuple(seam.id for seam in unwiped_seams(job))
    if (keys or bare or unwiped) and not asked.insisted:
        question = say.CloseOpenQuestion(parts=keys, bare=bare, unwiped=unwiped)
        return answers.ask_yes_no(asked, question)
    if not asked.insisted:
        return answers.ask_yes_no(asked, say.CloseSureQuestion())
    closed = ev.JobClosed(at_utc=asked.at_utc, left_open=keys, bare=bare, unwiped=unwiped)
    return answers.did((closed,), say.ClosedReply())


def _with_cautions(outcome: Outcome, cautions: tuple[str, ...]) -> Outcome:
    return answers.also(outcome, *(say.CautionReply(text=text) for text in cautions))


def _paused(job: Job) -> bool:
    return job.paused


def _working(job: Job) -> bool:
    return not job.paused


ACTS = (
    Act("open_job", "Open a job.", open_job, may=(PLAN, BODY), opens=True),
    Act(
        "pause_job",
        "Pause working time; panel clocks run on.",
        pause_job,
        when=_working,
        taken_back="Pause",
    ),
    Act("resume_job", "Go on with working time.", resume_job, when=_paused, taken_back="Going on"),
    Act("close_job", "Close the job and write the record.", close_job, ends_note=True),
    Act(
        "start_stage",
        "Begin a stage.",
        start_stage,
        needs=(STAGE,),
        when=lambda job: bool(may_start(job)),
        taken_back="Stage",
    ),
    Act(
        "finish_stage",
        "End the present stage.",
        finish_stage,
        may=(STAGE,),
        taken_back="End of the stage",
    ),
)
"""What can be asked for about the job as a whole."""
