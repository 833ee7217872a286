"""Which stages of a job may follow, by its table and its plan."""

from __future__ import annotations

from bayhelper.decide.job.machine import fire_job, job_triggers
from bayhelper.decide.job.state import Job
from bayhelper.decide.job.tables import JOB_START
from bayhelper.terms import events as ev
from bayhelper.terms.choices import STAGES, Stage
from bayhelper.terms.errors import DecisionError


def follows(stages: tuple[Stage, ...]) -> bool:
    """Whether the table lets each stage of a plan follow the one before."""
    state = JOB_START
    for stage in stages:
        if f"start_{stage}" not in job_triggers(state):
            return False
        state = fire_job(state, f"start_{stage}")
    return bool(stages)


def may_start(job: Job) -> frozenset[Stage]:
    """Stages that may be started now: the table's, as far as the plan or rework needs them."""
    wanted = set(job.plan.stages)
    if any(part.state in ("rework", "machining") for part in job.parts.values()):
        wanted.add("correction")
    triggers = job_triggers(job.stage)
    return frozenset(stage for stage in STAGES if stage in wanted and f"start_{stage}" in triggers)


def running_stage(job: Job) -> Stage:
    """The stage that the job is in.

    Raises DecisionError for a job that is closed, or whose record lacks its first stage.
    """
    for stage in STAGES:
        if stage == job.stage:
            return stage
    raise DecisionError(f"The job is in no stage, but '{job.stage}'. Its record is incomplete.")


def next_stage(job: Job) -> Stage | None:
    """The stage after the present one in the plan; None after the last."""
    stages: tuple[str, ...] = job.plan.stages
    if job.stage not in stages:
        return None
    rest = job.plan.stages[stages.index(job.stage) + 1 :]
    return rest[0] if rest else None


def seen(job: Job, stage: Stage) -> bool:
    """Whether the stage was begun before."""
    return any(
        isinstance(event, ev.StageStarted) and event.stage == stage
        for decision in job.decisions
        for event in decision.events
    )
