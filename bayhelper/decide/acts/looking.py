"""Looking a panel over, what is found on it, and sending it back."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.job.small_parts import included
from bayhelper.decide.job.state import Job, Part
from bayhelper.decide.job.targets import fitting_whole, laid
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.choices import DefectKind, Stage
from bayhelper.terms.saying import Saying
from bayhelper.terms.slots import KIND, PANEL, PLACE
from bayhelper.terms.subjects import looking as say
from bayhelper.terms.subjects.wiping import NotCoveredRefusal


def checked(asked: Asked) -> Outcome:
    """Somebody looked the panel over; the helper never says that it is good."""
    job, panel = asked.job, asked.panel
    if not all(part.state in ("buffed", "done") for part in job.parts_of(panel)):
        return answers.answer(say.NotBuffedRefusal(panel=panel))
    looked = (panel, *(part.panel for part in included(job, panel, "buffed", "done")))
    events = [ev.Checked(at_utc=asked.at_utc, panel=one, by=asked.by) for one in looked]
    return answers.did(events, say.CheckedReply(panel=panel))


def defect(asked: Asked) -> Outcome:
    """A high spot or a run, with its place, how old the film is, and whether that is too old.

    Water that ran out of a mirror or a handle is blotted at once, whatever the film's age.
    """
    found = ev.DefectFound(
        at_utc=asked.at_utc,
        panel=asked.panel,
        kind=KIND.of(asked.command),
        place=PLACE.given(asked.command) or "",
        by=asked.by,
    )
    return answers.did((found,), _told(asked.job, found))


def _told(job: Job, found: ev.DefectFound) -> Saying:
    panel, place = found.panel, found.place
    wiped = [at for part in job.parts_of(panel) if (at := _wiped_utc(part)) is not None]
    age_s = (found.at_utc - min(wiped, default=found.at_utc)).total_seconds()
    sheet = job.product("coating")
    rework_s = sheet.rework_s if sheet else None
    known = rework_s is not None
    if found.kind != "water" and rework_s is not None and age_s > rework_s:
        return say.FoundLateReply(panel=panel, found=found.kind, age_s=age_s)
    match found.kind:
        case "high_spot":
            return say.FoundHighSpotReply(panel=panel, place=place, age_s=age_s, known=known)
        case "run":
            return say.FoundRunReply(panel=panel, place=place, age_s=age_s, known=known)
        case "water":
            return say.FoundWaterReply(panel=panel)


def _wiped_utc(part: Part) -> datetime | None:
    return part.coat.levelled_at_utc or part.coat.covered_at_utc


def defect_fixed(asked: Asked) -> Outcome:
    """It was re-wet and levelled, or dried."""
    panel = asked.panel
    if panel not in unfixed(asked.job):
        return answers.answer(say.NoDefectRefusal(panel=panel))
    kind: DefectKind | None = KIND.given(asked.command)
    fixed = ev.DefectFixed(at_utc=asked.at_utc, panel=panel, kind=kind or "")
    return answers.did((fixed,), say.DefectFixedReply(panel=panel))


def unfixed(job: Job) -> frozenset[str]:
    """Panels with a find that was not dealt with."""
    return frozenset(d.panel for d in job.defects if d.fixed_at_utc is None)


def back_to_correction(asked: Asked) -> Outcome:
    """Too late to level: the panel goes back through correction, panel wipe and coat."""
    panel = asked.panel
    if panel not in _to_send_back(asked.job):
        return answers.answer(NotCoveredRefusal(panel=panel))
    sent = ev.SentBack(at_utc=asked.at_utc, panel=panel)
    return answers.did((sent,), say.SentBackReply(panel=panel))


def _to_send_back(job: Job) -> frozenset[str]:
    """Panels of which every part has been levelled."""
    return fitting_whole(job, "send_back")


COATED = frozenset[Stage]({"coating", "cure"})
"""Stages in which there is something to look over."""

ACTS = (
    Act(
        "checked",
        "It was looked over for high spots.",
        checked,
        needs=(PANEL,),
        stages=COATED,
        panels=lambda job: fitting_whole(job, "check"),
        taken_back="Looked over",
    ),
    Act(
        "defect",
        "A high spot, run or water was found.",
        defect,
        needs=(PANEL, KIND),
        may=(PLACE,),
        stages=COATED,
        panels=laid,
        fits_first=True,
        taken_back="Find",
    ),
    Act(
        "defect_fixed",
        "It was levelled, or dried.",
        defect_fixed,
        needs=(PANEL,),
        may=(KIND,),
        stages=COATED,
        panels=unfixed,
        taken_back="Fixed",
    ),
    Act(
        "back_to_correction",
        "A late high spot: the panel goes back to correction.",
        back_to_correction,
        needs=(PANEL,),
        stages=COATED,
        panels=_to_send_back,
        taken_back="Back to correction",
    ),
)
"""What can be asked for about looking over."""
