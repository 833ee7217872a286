"""Undo, being misheard, alerts answered, loudness, sleep, and not being understood."""

from __future__ import annotations

from collections.abc import Mapping

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.due.alerts import sounding
from bayhelper.decide.job.state import Job
from bayhelper.decide.job.talking import is_talk
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.command import NearMiss
from bayhelper.terms.effects import Effect, Tone, Volume
from bayhelper.terms.subjects import talk as say

NEVER_MISHEARD = frozenset({"undo", "that_was_wrong", "open_job"})
"""Commands that 'that was wrong' passes over: it speaks of the one before them."""


def undoable(job: Job, acts: Mapping[str, Act]) -> ev.Decision | None:
    """The decision that 'undo' would take back, or None."""
    for decision in reversed(job.decisions):
        act = acts.get(decision.command)
        if (
            decision.cause == "command"
            and decision.number not in job.undone
            and act is not None
            and act.taken_back
            and any(not is_talk(event) for event in decision.events)
        ):
            return decision
    return None


def _panel_of(decision: ev.Decision) -> str:
    panel = decision.slots.get("panel", "")
    return panel if isinstance(panel, str) else ""


def undo(asked: Asked) -> Outcome:
    """The last act is taken back, and named."""
    last = undoable(asked.job, asked.acts)
    if last is None:
        return answers.answer(say.NothingToUndoReply())
    undone = ev.Undone(at_utc=asked.at_utc, decision=last.number, command=last.command)
    act = asked.acts[last.command].taken_back
    return answers.did((undone,), say.UndoneReply(act=act, panel=_panel_of(last)))


def that_was_wrong(asked: Asked) -> Outcome:
    """The last command was misheard: its recording is marked, and the ear stays open.

    It is taken back if it changed anything; a misheard question changes nothing, and then nothing
    else is taken back in its place.
    """
    job, at_utc = asked.job, asked.at_utc
    last = _last_command(job)
    if last is None:
        return answers.answer(say.NothingToUndoReply())
    events: list[ev.Event] = []
    act = ""
    if last == undoable(job, asked.acts):
        events.append(ev.Undone(at_utc=at_utc, decision=last.number, command=last.command))
        act = asked.acts[last.command].taken_back
    elif last.command == "take_note" and job.dictating:
        events.append(ev.NoteEnded(at_utc=at_utc, note=job.notes[-1].id))
    events.append(ev.Misheard(at_utc=at_utc, decision=last.number))
    return answers.did(events, say.MisheardQuestion(act=act, panel=_panel_of(last) if act else ""))


def _last_command(job: Job) -> ev.Decision | None:
    """The last command that was neither taken back nor marked as misheard, nor did so itself."""
    marked = {
        event.decision
        for decision in job.decisions
        for event in decision.events
        if isinstance(event, ev.Misheard)
    }
    for decision in reversed(job.decisions):
        known = decision.number in job.undone | marked or decision.command in NEVER_MISHEARD
        if decision.cause == "command" and not known:
            return decision
    return None


def hush(asked: Asked) -> Outcome:
    """The voice of the present urgency is silenced; closing and overdue come back by themselves."""
    return _silence(asked, Volume("hush"))


def answered(asked: Asked) -> Outcome:
    """The alert was understood: the same, but it was heard."""
    return _silence(asked, Tone("noted"))


def _silence(asked: Asked, effect: Effect) -> Outcome:
    now = sounding(asked.job)
    if not now:
        return Outcome((), (effect,))
    urgency = max(deadline.urgency for deadline in now)
    subjects = tuple(d.key for d in now if d.urgency == urgency)
    silenced = ev.AlertAnswered(at_utc=asked.at_utc, urgency=int(urgency), subjects=subjects)
    return Outcome((silenced,), (effect,))


def quieter(asked: Asked) -> Outcome:
    """Softer, from the next sentence on."""
    return Outcome((), (Volume("quieter"), say.QuieterReply()))


def louder(asked: Asked) -> Outcome:
    """Louder, from the next sentence on."""
    return Outcome((), (Volume("louder"), say.LouderReply()))


def sleep(asked: Asked) -> Outcome:
    """Only 'wake' is acted on; alerts go on."""
    slept = ev.ListeningSet(at_utc=asked.at_utc, mode="asleep")
    return answers.did((slept,), say.AsleepReply())


def wake(asked: Asked) -> Outcome:
    """Commands are acted on again."""
    woken = ev.ListeningSet(at_utc=asked.at_utc, mode="awake")
    return answers.did((woken,), say.AwakeReply())


def spoken_over(addressed: bool) -> Outcome:
    """Something was said while we spoke, and was not sure enough to be taken."""
    if not addressed:
        return Outcome((), (Tone("not_understood"),))
    return answers.answer(say.MisheardQuestion(act="", panel=""))


def listening(job: Job) -> Outcome:
    """The address phrase alone: a tone, and what comes next needs none."""
    return Outcome() if job.asleep else Outcome((), (Tone("listening"),))


def not_understood(asked: Asked, near: NearMiss | None) -> Outcome:
    """A tone the first time, the nearest meaning as a question the second, the board the third.

    What was probably meant is asked at once. An answer is never asked about: it is said again.
    `asked.command` is the nearest meaning, where there is one.
    """
    job = asked.job
    meant = near is not None and near.command is not None
    meant = meant and not asked.acts[asked.command.name].answers
    likely = meant and near is not None and near.likely
    if job.asleep or (job.misses == 0 and not likely):
        return Outcome((), (Tone("not_understood"),))
    if job.misses <= 1 and near is not None and meant:
        return answers.ask_yes_no(asked, say.DidYouMeanQuestion(phrase=near.nearest))
    return answers.answer(say.LookAtBoardRefusal())


ACTS = (
    Act("undo", "Take back the last command.", undo),
    Act("that_was_wrong", "The last command was misheard.", that_was_wrong),
    Act("answered", "The alert was understood.", answered, keeps_question=True),
    Act("hush", "Silence the present alert's voice.", hush, keeps_question=True),
    Act("quieter", "Speak more softly.", quieter, keeps_question=True),
    Act("louder", "Speak louder.", louder, keeps_question=True),
    Act("sleep", "Stop listening for commands.", sleep),
    Act("wake", "Listen again.", wake, wakes=True),
)
"""What can be asked for about talking itself."""
