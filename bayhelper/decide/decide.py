"""One command in, one outcome out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from bayhelper.decide.acts import (
    answers,
    coating,
    correction,
    fitting,
    laying,
    notes,
    questions,
    stages,
    supplies,
    surfaces,
    talkback,
)
from bayhelper.decide.acts.answers import text_slot
from bayhelper.decide.allowed import allowed, allowed_panels
from bayhelper.decide.chatter import at_level
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Desk, Outcome
from bayhelper.terms.command import COMMANDS, Command
from bayhelper.terms.errors import DecisionError
from bayhelper.terms.events import QuestionAsked, QuestionSettled

Plain = Callable[[Job, Command, datetime], Outcome]
Guarded = Callable[[Job, Command, datetime, bool], Outcome]

PLAIN: dict[str, Plain] = {
    "resume_job": stages.resume_job,
    "start_stage": stages.start_stage,
    "finish_stage": stages.finish_stage,
    "set_air_temp": surfaces.set_air_temp,
    "set_humidity": surfaces.set_humidity,
    "set_panel_temp": surfaces.set_panel_temp,
    "film_reading": surfaces.film_reading,
    "flag_panel": surfaces.flag_panel,
    "start_dwell": surfaces.start_dwell,
    "end_dwell": surfaces.end_dwell,
    "finish_panel": correction.finish_panel,
    "pad_cleaned": correction.pad_cleaned,
    "pad_changed": correction.pad_changed,
    "residue_left": correction.residue_left,
    "residue_wiped": correction.residue_wiped,
    "prepped": coating.prepped,
    "touched": coating.touched,
    "all_round": coating.all_round,
    "lapped": coating.lapped,
    "trial": coating.trial,
    "levelled": coating.levelled,
    "checked": coating.checked,
    "defect": coating.defect,
    "defect_fixed": coating.defect_fixed,
    "back_to_correction": coating.back_to_correction,
    "more_time": coating.more_time,
    "batch": supplies.batch,
    "applicator_changed": supplies.applicator_changed,
    "towels_changed": supplies.towels_changed,
    "ask_elapsed": questions.ask_elapsed,
    "ask_remaining": questions.ask_remaining,
    "ask_bare": questions.ask_bare,
    "ask_unwiped": questions.ask_unwiped,
    "ask_next": questions.ask_next,
    "ask_fits": fitting.ask_fits,
    "ask_all_off": fitting.ask_all_off,
    "ask_where": questions.ask_where,
    "ask_open": questions.ask_open,
    "say_again": questions.say_again,
    "take_note": notes.take_note,
    "end_note": notes.end_note,
    "read_note": notes.read_note,
    "undo": talkback.undo,
    "that_was_wrong": talkback.that_was_wrong,
    "hush": talkback.hush,
    "answered": talkback.answered,
    "quieter": talkback.volume,
    "louder": talkback.volume,
    "sleep": talkback.sleep,
    "wake": talkback.wake,
}
"""Commands that act at once."""

GUARDED: dict[str, Guarded] = {
    "pause_job": stages.pause_job,
    "close_job": stages.close_job,
    "start_panel": correction.start_panel,
    "polish_on": correction.polish_on,
    "section_done": correction.section_done,
    "laying": fitting.lay,
    "covered": laying.covered,
    "buffed": coating.buffed,
    "start_layer": coating.start_layer,
}
"""Commands with a guard that can be insisted on."""


FIT_FIRST = frozenset(
    "start_panel residue_left prepped touched laying covered all_round lapped defect".split()
)
"""Commands that act on a panel without looking at its state themselves."""


def decide(job: Job | None, command: Command, at_utc: datetime, desk: Desk) -> Outcome:
    """What comes of a command, given at this instant, with as much said as the desk has set.

    Raises DecisionError for a command that is not in the catalogue, or lacks a slot it needs.
    """
    _check(command)
    return at_level(_decided(job, command, at_utc, desk), desk.chatter)


def _decided(job: Job | None, command: Command, at_utc: datetime, desk: Desk) -> Outcome:
    if job is not None and job.closed_at_utc is not None:
        job = None
    if command.name not in allowed(job):
        return _not_now(job, command)
    if job is None:
        return stages.open_job(command, at_utc, desk)
    if command.name in answers.ANSWERS:
        return _settle(job, command, at_utc)
    return _carry_out(job, command, at_utc, insisted=False)


def _not_now(job: Job | None, command: Command) -> Outcome:
    if job is None:
        return answers.refuse("no_job")
    if job.asleep:
        return Outcome()
    return answers.refuse("not_now", command=command.name, stage=job.stage)


def _check(command: Command) -> None:
    spec = COMMANDS.get(command.name)
    if spec is None:
        raise DecisionError(f"'{command.name}' is no command; the catalogue is terms.command.")
    missing = [slot for slot in spec.needs if slot not in command.slots]
    if missing:
        raise DecisionError(
            f"'{command.name}' needs {', '.join(spec.needs)}, but came without "
            f"{', '.join(missing)}. The grammar of that phrase lacks a tag."
        )


def _unfit(job: Job, command: Command) -> Outcome | None:
    """Why this panel or half cannot be meant, or None."""
    panel, half = text_slot(command, "panel"), text_slot(command, "half")
    known = job.body.panel(panel)
    if (panel and known is None) or (half and known and half not in known.halves):
        return answers.refuse("no_such_panel", panel=panel)
    if command.name in FIT_FIRST and panel not in allowed_panels(job)[command.name]:
        state = job.parts_of(panel)[0].state
        return answers.refuse("panel_not_now", panel=panel, half=half, state=state)
    return None


def _carry_out(job: Job, command: Command, at_utc: datetime, *, insisted: bool) -> Outcome:
    unfit = _unfit(job, command)
    if unfit is not None:
        return unfit
    guarded = GUARDED.get(command.name)
    if guarded is not None:
        outcome = guarded(job, command, at_utc, insisted)
    else:
        outcome = PLAIN[command.name](job, command, at_utc)
    if not outcome.events or (outcome.effects and _only_asks(outcome)):
        return outcome
    first = (*notes.ended_by(job, command, at_utc), *stages.implied_stage(job, command, at_utc))
    return answers.with_first(first, outcome)


def _only_asks(outcome: Outcome) -> bool:
    return all(isinstance(event, QuestionAsked) for event in outcome.events)


def _settle(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Yes, no, 'do it all the same', or a panel's name, to what was asked last."""
    question = job.question
    if question is None:
        return answers.answer("nothing_asked")
    if command.name == "no":
        return answers.did((QuestionSettled(at_utc=at_utc, answer="no"),), "left_alone")
    waiting = Command(question.command, dict(question.slots), said=command.said)
    if command.name == "choose_panel":
        named = {name: command.slots[name] for name in ("panel", "half") if name in command.slots}
        waiting = replace(waiting, slots=waiting.slots | named)
        settled = QuestionSettled(at_utc=at_utc, answer="chosen")
    elif command.name == "insist":
        settled = QuestionSettled(at_utc=at_utc, answer="insisted")
    else:
        settled = QuestionSettled(at_utc=at_utc, answer="yes")
    if waiting.name not in allowed(job):
        return answers.with_first((settled,), _not_now(job, waiting))
    insisted = question.topic != "did_you_mean" and command.name != "choose_panel"
    outcome = _carry_out(job, waiting, at_utc, insisted=insisted)
    return replace(answers.with_first((settled,), outcome), command=waiting)
