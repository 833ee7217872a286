"""Opening and closing the job, its stages, and pausing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import text_slot
from bayhelper.decide.acts.surfaces import air_events
from bayhelper.decide.job.curing import kept_until
from bayhelper.decide.job.machine import fire_job, job_triggers
from bayhelper.decide.job.seams import bare_seams, unwiped_seams
from bayhelper.decide.job.state import Job
from bayhelper.decide.job.tables import JOB_START
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Say


def open_job(command: Command, at_utc: datetime, desk: Desk) -> Outcome:
    """A new job, with copies of every sheet it starts from, in its first stage."""
    plan_id = text_slot(command, "plan") or desk.plan
    body_id = text_slot(command, "body") or desk.body
    if plan_id not in desk.plans or body_id not in desk.bodies:
        return answers.refuse("no_such_sheet", plan=plan_id, body=body_id)
    plan = desk.plans[plan_id]
    if not follows(plan.stages):
        return answers.refuse("plan_impossible", plan=plan_id)
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
    outcome = answers.did((opened, started, *air, *batch), "opened", plan=plan.name, stage=first)
    return _with_cautions(outcome, plan.cautions.get(first, ()))


def follows(stages: tuple[str, ...]) -> bool:
    """Whether the table lets each stage of a plan follow the one before."""
    state = JOB_START
    for stage in stages:
        if f"start_{stage}" not in job_triggers(state):
            return False
        state = fire_job(state, f"start_{stage}")
    return bool(stages)


def may_start(job: Job) -> frozenset[str]:
    """Stages that may be started now: the table's, as far as the plan or rework needs them."""
    wanted = set(job.plan.stages)
    if any(part.state in ("rework", "machining") for part in job.parts.values()):
        wanted.add("correction")
    stages = {t.removeprefix("start_") for t in job_triggers(job.stage) if t.startswith("start_")}
    return frozenset(stages & wanted)


def start_stage(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The stage begins; its cautions are said the first time."""
    stage = text_slot(command, "stage")
    if stage == job.stage:
        return answers.answer("stage_already", stage=stage)
    if stage not in may_start(job):
        return answers.refuse("stage_not_now", stage=stage, now=job.stage)
    started = ev.StageStarted(at_utc=at_utc, stage=stage)
    outcome = answers.did((started,), "stage_started", stage=stage)
    if stage == "cure":
        outcome = answers.also(outcome, *_keeping(job, at_utc))
    return _with_cautions(outcome, () if seen(job, stage) else job.plan.cautions.get(stage, ()))


def _keeping(job: Job, at_utc: datetime) -> Iterator[Say]:
    """What the car must be kept from, for as long as that still lasts."""
    for kept in kept_until(job):
        left_s = (kept.until_utc - at_utc).total_seconds()
        if left_s > 0:
            yield Say("keep", {"rule": kept.keep.rule, "for_s": left_s})


def seen(job: Job, stage: str) -> bool:
    """Whether the stage was begun before."""
    return any(
        isinstance(event, ev.StageStarted) and event.stage == stage
        for decision in job.decisions
        for event in decision.events
    )


def implied_stage(job: Job, command: Command, at_utc: datetime) -> tuple[ev.Event, ...]:
    """The stage that somebody begins by doing its work without announcing it."""
    implied = IMPLIED.get((job.stage, command.name))
    if implied is None or implied not in may_start(job):
        return ()
    return (ev.StageStarted(at_utc=at_utc, stage=implied),)


IMPLIED = {
    ("correction", "prepped"): "panel_wipe",
    ("inspection", "prepped"): "panel_wipe",
    ("inspection", "start_panel"): "correction",
    ("panel_wipe", "laying"): "coating",
    ("panel_wipe", "covered"): "coating",
}
"""Stage and command that together begin another stage."""


def finish_stage(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The stage is done; the next one is named, and begins when somebody begins it."""
    stage = text_slot(command, "stage") or job.stage
    if stage != job.stage:
        return answers.refuse("stage_not_running", stage=stage, now=job.stage)
    finished = ev.StageFinished(at_utc=at_utc, stage=stage)
    return answers.did((finished,), "stage_finished", stage=stage, next=next_stage(job))


def next_stage(job: Job) -> str:
    """The stage after the present one in the plan, or ''."""
    stages = job.plan.stages
    if job.stage not in stages:
        return ""
    rest = stages[stages.index(job.stage) + 1 :]
    return rest[0] if rest else ""


def pause_job(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """Working time stops; a panel's clock never does, so open panels are named first."""
    keys = tuple(part.key for part in job.open_parts())
    if keys and not insisted:
        return answers.ask_yes_no(command, at_utc, "pause_open", parts=keys)
    return answers.did((ev.JobPaused(at_utc=at_utc),), "paused", parts=keys)


def resume_job(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Working time goes on."""
    return answers.did((ev.JobResumed(at_utc=at_utc),), "resumed", stage=job.stage)


def close_job(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """The job ends, which cannot be taken back, so it always wants a yes.

    Open panels, bare and unwiped seams are told in the question and kept in the record.
    """
    keys = tuple(part.key for part in job.open_parts())
    bare = tuple(seam.id for seam in bare_seams(job))
    unwiped = tuple(seam.id for seam in unwiped_seams(job))
    if (keys or bare or unwiped) and not insisted:
        return answers.ask_yes_no(
            command, at_utc, "close_open", parts=keys, bare=bare, unwiped=unwiped
        )
    if not insisted:
        return answers.ask_yes_no(command, at_utc, "close_sure")
    closed = ev.JobClosed(at_utc=at_utc, left_open=keys, bare=bare, unwiped=unwiped)
    return answers.did((closed,), "closed")


def _with_cautions(outcome: Outcome, cautions: tuple[str, ...]) -> Outcome:
    return answers.also(outcome, *(Say("caution", {"text": text}) for text in cautions))
