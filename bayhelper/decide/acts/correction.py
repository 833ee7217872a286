"""Machine correction: panels, sections, polish, pads, residue."""

from __future__ import annotations

from typing import Literal

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.job import pads
from bayhelper.decide.job.finish import gentle
from bayhelper.decide.job.machine import panel_triggers
from bayhelper.decide.job.seams import own_panels
from bayhelper.decide.job.stages import may_start
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.choices import Flag, Stage
from bayhelper.terms.slots import PANEL
from bayhelper.terms.subjects import correction as say

RESIDUE_S = 5400.0
"""How long residue may wait when the sheet gives no time: an hour or two (common practice, no
source)."""


def start_panel(asked: Asked) -> Outcome:
    """The machine goes to this panel; the one before is thereby finished."""
    job, panel = asked.job, asked.panel
    flag: Literal[Flag, ""] = job.flags.get(panel, "")
    if gentle(job, panel) and not asked.insisted:
        return answers.ask_to_insist(asked, say.GentlePanelGuard(panel=panel, flag=flag))
    return answers.did(_machine_to(asked), say.MachiningReply(panel=panel, flag=flag))


def _machine_to(asked: Asked) -> list[ev.Event]:
    """The panel before is finished, the named one begun."""
    at_utc, machining = asked.at_utc, asked.job.machining
    finished = [ev.PanelFinished(at_utc=at_utc, panel=machining)] if machining else []
    begun = ev.PanelStarted(at_utc=at_utc, panel=asked.panel, insisted=asked.insisted, by=asked.by)
    return [*finished, begun]


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


def finish_panel(asked: Asked) -> Outcome:
    """Machining of the panel is done."""
    panel = asked.panel or asked.job.machining
    if not panel or panel != asked.job.machining:
        return answers.answer(say.NotMachiningRefusal(panel=panel))
    done = ev.PanelFinished(at_utc=asked.at_utc, panel=panel, by=asked.by)
    return answers.did((done,), say.MachinedReply(panel=panel))


def polish_on(asked: Asked) -> Outcome:
    """Fresh polish: never on a dirty pad without insisting."""
    if pads.dirty(asked.job) and not asked.insisted:
        return answers.ask_to_insist(asked, say.DirtyPadGuard())
    return answers.noted(ev.PolishPutOn(at_utc=asked.at_utc, insisted=asked.insisted))


def section_done(asked: Asked) -> Outcome:
    """One section, worked by the habit set for the job: one utterance is enough for it.

    It tells that the pad was cleaned before, when that was due, and that the machine is on the
    panel named. The pad reminder that it may cause is an alert of its own.
    """
    job, named = asked.job, asked.panel
    events: list[ev.Event] = []
    if named not in ("", job.machining) and job.stage == "correction" and may_machine(job, named):
        flag: Literal[Flag, ""] = job.flags.get(named, "")
        if gentle(job, named) and not asked.insisted:
            return answers.ask_to_insist(asked, say.GentlePanelGuard(panel=named, flag=flag))
        events += _machine_to(asked)
    if pads.cleaned_by_habit(job):
        events.append(ev.PadCleaned(at_utc=asked.at_utc, assumed=True))
    done = ev.SectionDone(at_utc=asked.at_utc, panel=named or job.machining, by=asked.by)
    return answers.noted(*events, done)


def pad_cleaned(asked: Asked) -> Outcome:
    """The pad is clean, and nothing of its sections counts any more."""
    return answers.did((ev.PadCleaned(at_utc=asked.at_utc),), say.PadCleanedReply())


def pad_changed(asked: Asked) -> Outcome:
    """Another, clean pad is on."""
    return answers.did((ev.PadChanged(at_utc=asked.at_utc),), say.PadChangedReply())


def residue_left(asked: Asked) -> Outcome:
    """Residue of a long-working polish waits, and is remembered."""
    polish = asked.job.product("polish")
    wipe_s = (polish.residue_s if polish else None) or RESIDUE_S
    left = ev.ResidueLeft(at_utc=asked.at_utc, panel=asked.panel, wipe_s=wipe_s)
    return answers.did((left,), say.ResidueLeftReply(panel=asked.panel, wipe_in_s=wipe_s))


def residue_wiped(asked: Asked) -> Outcome:
    """That residue is off."""
    if asked.panel not in asked.job.residues:
        return answers.answer(say.NoResidueRefusal(panel=asked.panel))
    wiped = ev.ResidueWiped(at_utc=asked.at_utc, panel=asked.panel)
    return answers.did((wiped,), say.ResidueWipedReply(panel=asked.panel))


def _polishes(job: Job) -> bool:
    return "polish" in job.plan.products


def _corrects(job: Job) -> bool:
    return job.stage != "inspection" or "correction" in may_start(job)


def _to_machine(job: Job) -> frozenset[str]:
    return frozenset(panel.id for panel in own_panels(job) if may_machine(job, panel.id))


def _under_machine(job: Job) -> frozenset[str]:
    return frozenset({job.machining} - {""})


def _own(job: Job) -> frozenset[str]:
    return frozenset(panel.id for panel in own_panels(job))


def _with_residue(job: Job) -> frozenset[str]:
    return frozenset(job.residues)


MACHINE_OUT = frozenset[Stage]({"inspection", "correction"})
"""A test spot is worked with the machine before the stage of correction begins."""

ACTS = (
    Act(
        "start_panel",
        "Begin machining a panel.",
        start_panel,
        needs=(PANEL,),
        stages=MACHINE_OUT,
        when=_corrects,
        panels=_to_machine,
        fits_first=True,
        begins={"inspection": "correction"},
        taken_back="Machining",
    ),
    Act(
        "finish_panel",
        "End machining a panel.",
        finish_panel,
        may=(PANEL,),
        stages=frozenset({"correction"}),
        when=lambda job: bool(job.machining),
        panels=_under_machine,
        taken_back="End of machining",
    ),
    Act(
        "polish_on",
        "Fresh polish on the pad.",
        polish_on,
        stages=MACHINE_OUT,
        when=_polishes,
        taken_back="Polish on",
    ),
    Act(
        "section_done",
        "One section is worked and checked.",
        section_done,
        may=(PANEL,),
        stages=MACHINE_OUT,
        when=_polishes,
        taken_back="Section",
    ),
    Act(
        "pad_cleaned",
        "The pad was cleaned.",
        pad_cleaned,
        stages=MACHINE_OUT,
        when=_polishes,
        taken_back="Pad cleaned",
    ),
    Act(
        "pad_changed",
        "A clean pad is on.",
        pad_changed,
        stages=MACHINE_OUT,
        when=_polishes,
        taken_back="New pad",
    ),
    Act(
        "residue_left",
        "Residue left to be wiped later.",
        residue_left,
        needs=(PANEL,),
        stages=frozenset({"correction"}),
        panels=_own,
        fits_first=True,
        taken_back="Residue left",
    ),
    Act(
        "residue_wiped",
        "That residue is wiped.",
        residue_wiped,
        needs=(PANEL,),
        stages=frozenset({"correction", "panel_wipe", "coating"}),
        panels=_with_residue,
        taken_back="Residue wiped",
    ),
)
"""What can be asked for about machine correction."""
