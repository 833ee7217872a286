"""Machine correction: panels, sections, polish, pads, residue."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import text_slot
from bayhelper.decide.job import pads
from bayhelper.decide.job.finish import gentle
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command

RESIDUE_S = 5400.0
"""How long residue may wait when the sheet gives no time: an hour or two (common practice)."""


def start_panel(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """The machine goes to this panel; the one before is thereby finished."""
    panel = text_slot(command, "panel")
    flag = job.flags.get(panel, "")
    if gentle(job, panel) and not insisted:
        return answers.ask_to_insist(command, at_utc, "gentle_panel", panel=panel, flag=flag)
    events = _machine_to(job, command, at_utc, insisted)
    return answers.did(events, "machining", panel=panel, flag=flag)


def _machine_to(job: Job, command: Command, at_utc: datetime, insisted: bool) -> list[ev.Event]:
    """The panel before is finished, the named one begun."""
    panel, by = text_slot(command, "panel"), text_slot(command, "by")
    finished = [ev.PanelFinished(at_utc=at_utc, panel=job.machining)] if job.machining else []
    return [*finished, ev.PanelStarted(at_utc=at_utc, panel=panel, insisted=insisted, by=by)]


def may_machine(job: Job, panel: str) -> bool:
    """Whether a panel, as a whole, can go under the machine."""
    known = job.body.panel(panel)
    parts = job.parts_of(panel)
    return (
        known is not None
        and known.kind == "panel"
        and len(parts) == 1
        and "machine" in panel_triggers(parts[0].state)
    )


def finish_panel(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Machining of the panel is done."""
    panel = text_slot(command, "panel") or job.machining
    if not panel or panel != job.machining:
        return answers.refuse("not_machining", panel=panel)
    done = ev.PanelFinished(at_utc=at_utc, panel=panel, by=text_slot(command, "by"))
    return answers.did((done,), "machined", panel=panel)


def polish_on(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """Fresh polish: never on a dirty pad without insisting."""
    if pads.dirty(job) and not insisted:
        return answers.ask_to_insist(command, at_utc, "dirty_pad", sections=job.pad.sections)
    return answers.noted(ev.PolishPutOn(at_utc=at_utc, insisted=insisted))


def section_done(job: Job, command: Command, at_utc: datetime, insisted: bool) -> Outcome:
    """One section, worked by the habit set for the job: one utterance is enough for it.

    It tells that the pad was cleaned before, when that was due, and that the machine is on the
    panel named. The pad reminder that it may cause is an alert of its own.
    """
    named = text_slot(command, "panel")
    events: list[ev.Event] = []
    if named not in ("", job.machining) and job.stage == "correction" and may_machine(job, named):
        flag = job.flags.get(named, "")
        if gentle(job, named) and not insisted:
            return answers.ask_to_insist(command, at_utc, "gentle_panel", panel=named, flag=flag)
        events += _machine_to(job, command, at_utc, insisted)
    if pads.cleaned_by_habit(job):
        events.append(ev.PadCleaned(at_utc=at_utc, assumed=True))
    by = text_slot(command, "by")
    done = ev.SectionDone(at_utc=at_utc, panel=named or job.machining, by=by)
    return answers.noted(*events, done)


def pad_cleaned(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The pad is clean."""
    return answers.did((ev.PadCleaned(at_utc=at_utc),), "pad_cleaned")


def pad_changed(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Another, clean pad is on."""
    return answers.did((ev.PadChanged(at_utc=at_utc),), "pad_changed")


def residue_left(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Residue of a long-working polish waits, and is remembered."""
    panel = text_slot(command, "panel")
    polish = job.product("polish")
    wipe_s = (polish.residue_s if polish else None) or RESIDUE_S
    left = ev.ResidueLeft(at_utc=at_utc, panel=panel, wipe_s=wipe_s)
    return answers.did((left,), "residue_left", panel=panel, wipe_in_s=wipe_s)


def residue_wiped(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """That residue is off."""
    panel = text_slot(command, "panel")
    if panel not in job.residues:
        return answers.refuse("no_residue", panel=panel)
    return answers.did((ev.ResidueWiped(at_utc=at_utc, panel=panel),), "residue_wiped", panel=panel)
