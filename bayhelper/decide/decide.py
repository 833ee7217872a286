"""One command in, one outcome out."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from bayhelper.decide.acts import answers, notes, talk
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.acts.catalogue import ACTS, allowed
from bayhelper.decide.chatter import at_level
from bayhelper.decide.job.stages import may_start
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.terms.command import Command, NearMiss
from bayhelper.terms.errors import DecisionError
from bayhelper.terms.events import Event, QuestionAsked, StageStarted
from bayhelper.terms.slots import BY
from bayhelper.terms.subjects.job import NoJobRefusal
from bayhelper.terms.subjects.talk import NoSuchPanelRefusal, NotNowRefusal, PanelNotNowRefusal


def decide(job: Job | None, command: Command, at_utc: datetime, desk: Desk) -> Outcome:
    """What comes of a command, given at this instant, with as much said as the desk has set.

    Raises DecisionError for a command that is no act, or has not the slots of its row.
    """
    _check(command)
    now = job if job is not None and job.closed_at_utc is None else None
    return at_level(_decided(_asked(now, command, at_utc, desk)), desk.chatter)


def not_understood(job: Job, near: NearMiss | None, at_utc: datetime, desk: Desk) -> Outcome:
    """What comes of words that mean nothing for sure; see acts.talk."""
    meant = near.command if near is not None else None
    return talk.not_understood(_asked(job, meant or Command(""), at_utc, desk), near)


def _asked(now: Job | None, command: Command, at_utc: datetime, desk: Desk) -> Asked:
    def carry_out(waiting: Command, insisted: bool) -> Outcome:
        again = replace(asked, command=waiting, insisted=insisted)
        if now is None or waiting.name not in allowed(now):
            return _not_now(again)
        return replace(_carried_out(again), command=waiting)

    asked = Asked(now, command, at_utc, desk, ACTS, carry_out)
    return asked


def _check(command: Command) -> None:
    act = ACTS.get(command.name)
    if act is None:
        raise DecisionError(
            f"'{command.name}' is no command: no act in decide.acts has that name. Add a row, or "
            "correct the tag in the grammar."
        )
    for slot in act.needs:
        slot.of(command)
    for slot in (*act.may, BY):
        slot.given(command)


def _decided(asked: Asked) -> Outcome:
    if asked.command.name not in allowed(asked.now):
        return _not_now(asked)
    if asked.now is None or ACTS[asked.command.name].answers:
        return ACTS[asked.command.name].do(asked)
    return _carried_out(asked)


def _not_now(asked: Asked) -> Outcome:
    if asked.now is None:
        return answers.answer(NoJobRefusal())
    if asked.now.asleep:
        return Outcome()
    return answers.answer(NotNowRefusal(stage=asked.now.stage))


def _unfit(asked: Asked, act: Act) -> Outcome | None:
    """Why this panel or half cannot be meant, or None."""
    job, panel, half = asked.job, asked.panel, asked.half
    known = job.body.panel(panel)
    if (panel and known is None) or (half and known and half not in known.halves):
        return answers.answer(NoSuchPanelRefusal())
    if act.fits_first and act.panels is not None and panel not in act.panels(job):
        state = job.parts_of(panel)[0].state
        return answers.answer(PanelNotNowRefusal(panel=panel, half=half, state=state))
    return None


def _carried_out(asked: Asked) -> Outcome:
    act = ACTS[asked.command.name]
    unfit = _unfit(asked, act)
    if unfit is not None:
        return unfit
    outcome = act.do(asked)
    if not outcome.events or (outcome.effects and _only_asks(outcome)):
        return outcome
    ends_note = act.ends_note or bool(act.taken_back)
    ended = notes.ended(asked.job, asked.at_utc) if ends_note else ()
    return answers.with_first((*ended, *_begun(asked, act)), outcome)


def _begun(asked: Asked, act: Act) -> tuple[Event, ...]:
    """The stage that somebody begins by doing its work without announcing it."""
    for stage in may_start(asked.job):
        if (asked.job.stage, stage) in act.begins.items():
            return (StageStarted(at_utc=asked.at_utc, stage=stage),)
    return ()


def _only_asks(outcome: Outcome) -> bool:
    return all(isinstance(event, QuestionAsked) for event in outcome.events)
