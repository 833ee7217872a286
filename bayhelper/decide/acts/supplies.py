"""Applicator, towels and batch: what is in the hand."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.act import Act, Asked
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.saying import Saying
from bayhelper.terms.slots import BATCH
from bayhelper.terms.subjects import supplies as say

STOOD_S = 1800.0
"""An applicator that lay about for longer has hardened (common practice, no source)."""
SHORTEST_BATCH = 2
"""A batch number of one digit was cut off (chosen, no source)."""


def applicator_changed(asked: Asked) -> Outcome:
    """A fresh applicator: it takes more product than a loaded one."""
    changed = ev.ApplicatorChanged(at_utc=asked.at_utc)
    return answers.did((changed,), say.ApplicatorChangedReply())


def towels_changed(asked: Asked) -> Outcome:
    """Fresh towels: those used so far count no more."""
    return answers.did((ev.TowelsChanged(at_utc=asked.at_utc),), say.TowelsChangedReply())


def batch(asked: Asked) -> Outcome:
    """The batch of the coating, read back digit by digit."""
    number = BATCH.of(asked.command)
    if len(number) < SHORTEST_BATCH or not number.isdecimal():
        return answers.answer(say.BatchImpossibleRefusal())
    return answers.did(
        (ev.BatchRead(at_utc=asked.at_utc, batch=number),), say.BatchReply(batch=number)
    )


def before_laying(job: Job, at_utc: datetime) -> tuple[Saying, ...]:
    """What to say about supplies when product is about to go on; mostly nothing.

    Once a job, what nobody told: the batch and the temperature of the surfaces. And whether the
    applicator is fresh, or has hardened meanwhile.
    """
    strokes = [part.coat.covered_at_utc or part.coat.started_at_utc for part in job.parts.values()]
    last_utc = max((stroke for stroke in strokes if stroke is not None), default=None)
    if last_utc is None:
        missing: list[Literal["batch", "surface"]] = []
        if not job.batch:
            missing.append("batch")
        if not job.panel_c:
            missing.append("surface")
        return (say.BeforeFirstReply(missing=tuple(missing)),)
    changed_utc = job.applicator_changed_at_utc
    if changed_utc is not None and changed_utc >= last_utc:
        return (say.ApplicatorFreshReply(),)
    stood_s = (at_utc - last_utc).total_seconds()
    return (say.ApplicatorStoodReply(stood_s=stood_s),) if stood_s > STOOD_S else ()


ACTS = (
    Act(
        "batch",
        "Batch number of the coating.",
        batch,
        needs=(BATCH,),
        stages=frozenset({"panel_wipe", "coating"}),
        taken_back="Batch number",
    ),
    Act(
        "applicator_changed",
        "A fresh applicator.",
        applicator_changed,
        stages=frozenset({"coating"}),
        taken_back="Applicator",
    ),
    Act(
        "towels_changed",
        "Fresh towels.",
        towels_changed,
        stages=frozenset({"coating"}),
        taken_back="Towels",
    ),
)
"""What can be asked for about supplies."""
