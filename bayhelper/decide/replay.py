"""From decisions to the job: the only way in which a job comes about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from bayhelper.decide.acts.catalogue import ACTS
from bayhelper.decide.due.deadlines import check_known
from bayhelper.decide.job.fold import apply_events, opened
from bayhelper.decide.job.state import Job
from bayhelper.decide.job.talking import is_talk
from bayhelper.terms import events as ev
from bayhelper.terms.errors import DecisionError


def fold(decisions: Iterable[ev.Decision]) -> Job:
    """The job that these decisions made.

    Raises DecisionError when they do not begin with the opening of a job or do not fit it.
    """
    return _refold(tuple(decisions))


def apply(job: Job | None, decision: ev.Decision) -> Job:
    """The job after one more decision; an undo makes it as if the undone one had not been."""
    before = job.decisions if job else ()
    if any(isinstance(event, ev.Undone) for event in decision.events):
        return _refold((*before, decision))
    return _after(job, decision, decision.events)


def _refold(decisions: tuple[ev.Decision, ...]) -> Job:
    undone = {
        event.decision
        for decision in decisions
        for event in decision.events
        if isinstance(event, ev.Undone)
    }
    job: Job | None = None
    for decision in decisions:
        events = decision.events
        if decision.number in undone:
            events = tuple(event for event in events if is_talk(event))
        job = _after(job, decision, events)
    if job is None:
        raise DecisionError("A job has at least the decision that opened it, but there is none.")
    return replace(job, undone=frozenset(undone))


def _after(job: Job | None, decision: ev.Decision, events: tuple[ev.Event, ...]) -> Job:
    if job is None:
        job, events = opened(events)
    elif decision.cause == "command":
        act = ACTS.get(decision.command)
        kept = job.question if act is not None and act.keeps_question else None
        job = replace(job, question=kept, misses=0)
    for event in events:
        if isinstance(event, ev.AlertRaised):
            check_known(event.alert)
    return replace(apply_events(job, events), decisions=(*job.decisions, decision))
