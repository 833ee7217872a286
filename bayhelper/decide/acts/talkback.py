"""Undo, 'that was wrong', yes and no, insisting, answering alerts, and not being understood."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.due.alerts import sounding
from bayhelper.decide.job.fold import undoable
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command, NearMiss
from bayhelper.terms.effects import Effect, Listen, Say, Tone, Value, Volume


def _about(decision: ev.Decision) -> dict[str, Value]:
    panel = decision.slots.get("panel", "")
    return {"command": decision.command, "panel": panel if isinstance(panel, str) else ""}


def undo(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The last command is taken back, and named."""
    last = undoable(job)
    if last is None:
        return answers.answer("nothing_to_undo")
    undone = ev.Undone(at_utc=at_utc, decision=last.number, command=last.command)
    return Outcome((undone,), (Say("undone", _about(last)),))


def that_was_wrong(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The last command was misheard: its recording is marked, and the ear stays open.

    It is taken back if it changed anything; a misheard question changes nothing, and then nothing
    else is taken back in its place.
    """
    last = _last_command(job)
    if last is None:
        return answers.answer("nothing_to_undo")
    events: list[ev.Event] = []
    if last == undoable(job):
        events.append(ev.Undone(at_utc=at_utc, decision=last.number, command=last.command))
    elif last.command == "take_note" and job.dictating:
        events.append(ev.NoteEnded(at_utc=at_utc, note=job.notes[-1].id))
    events.append(ev.Misheard(at_utc=at_utc, decision=last.number))
    about = _about(last) if len(events) > 1 else {}
    return Outcome(tuple(events), (Say("misheard", about, kind="question"), Listen("follow_on")))


def _last_command(job: Job) -> ev.Decision | None:
    """The last command that was neither taken back nor marked as misheard, nor did so itself."""
    marked = {
        event.decision
        for decision in job.decisions
        for event in decision.events
        if isinstance(event, ev.Misheard)
    }
    for decision in reversed(job.decisions):
        open_to_doubt = decision.command not in ("undo", "that_was_wrong", "open_job")
        known = decision.number in job.undone | marked
        if decision.cause == "command" and open_to_doubt and not known:
            return decision
    return None


def hush(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The voice of the present urgency is silenced; closing and overdue come back by themselves."""
    return _silence(job, at_utc, (Volume("hush"),))


def answered(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The alert was understood: the same, but it was heard."""
    return _silence(job, at_utc, (Tone("noted"),))


def _silence(job: Job, at_utc: datetime, effects: tuple[Effect, ...]) -> Outcome:
    now = sounding(job)
    if not now:
        return Outcome((), effects)
    urgency = max(deadline.urgency for deadline in now)
    subjects = tuple(d.key for d in now if d.urgency == urgency)
    silenced = ev.AlertAnswered(at_utc=at_utc, urgency=int(urgency), subjects=subjects)
    return Outcome((silenced,), effects)


def volume(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Softer or louder, from the next sentence on."""
    step = Volume("louder") if command.name == "louder" else Volume("quieter")
    return Outcome((), (step, Say(command.name)))


def sleep(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Only 'wake' is acted on; alerts go on."""
    slept = ev.ListeningSet(at_utc=at_utc, mode="asleep")
    return Outcome((slept,), (Say("asleep"), Listen("asleep")))


def wake(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Commands are acted on again."""
    woken = ev.ListeningSet(at_utc=at_utc, mode="awake")
    return Outcome((woken,), (Say("awake"), Listen("normal")))


def spoken_over(addressed: bool) -> Outcome:
    """Something was said while we spoke, and was not sure enough to be taken."""
    if not addressed:
        return Outcome((), (Tone("not_understood"),))
    return Outcome((), (Say("misheard", kind="question"),))


def listening(job: Job) -> Outcome:
    """The address phrase alone: a tone, and what comes next needs none."""
    return Outcome() if job.asleep else Outcome((), (Tone("listening"),))


def not_understood(job: Job, near: NearMiss | None, at_utc: datetime) -> Outcome:
    """A tone the first time, the nearest meaning as a question the second, the board the third.

    What was probably meant is asked at once. An answer is never asked about: it is said again.
    """
    command = near.command if near is not None else None
    if command is not None and command.name in answers.ANSWERS:
        command = None
    likely = command is not None and near is not None and near.likely
    if job.asleep or (job.misses == 0 and not likely):
        return Outcome((), (Tone("not_understood"),))
    if job.misses <= 1 and near is not None and command is not None:
        return answers.ask_yes_no(command, at_utc, "did_you_mean", phrase=near.nearest)
    return Outcome((), (Say("look_at_board", kind="refusal"),))
