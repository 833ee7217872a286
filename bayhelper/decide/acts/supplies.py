"""Applicator, towels and batch: what is in the hand, and what of it is spent."""

from __future__ import annotations

from datetime import datetime

from bayhelper.decide.acts import answers
from bayhelper.decide.acts.answers import text_slot
from bayhelper.decide.job.state import Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms import events as ev
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Say

STOOD_S = 1800.0
"""An applicator that lay about for longer has hardened (common practice, no source)."""
SHORTEST_BATCH = 2
"""A batch number of one digit was cut off."""


def applicator_changed(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """A fresh applicator: it takes more product than a loaded one."""
    return answers.did((ev.ApplicatorChanged(at_utc=at_utc),), "applicator_changed")


def towels_changed(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """Fresh towels."""
    return answers.did((ev.TowelsChanged(at_utc=at_utc),), "towels_changed")


def batch(job: Job, command: Command, at_utc: datetime) -> Outcome:
    """The batch of the coating, read back digit by digit."""
    number = text_slot(command, "batch")
    if len(number) < SHORTEST_BATCH or not number.isdecimal():
        return answers.refuse("batch_impossible")
    return answers.did((ev.BatchRead(at_utc=at_utc, batch=number),), "batch", batch=number)


def before_laying(job: Job, at_utc: datetime) -> tuple[Say, ...]:
    """What to say about supplies when product is about to go on; mostly nothing.

    Once a job, what nobody told: the batch and the temperature of the surfaces. And whether the
    applicator is fresh, or has hardened meanwhile.
    """
    strokes = [part.covered_at_utc or part.started_at_utc for part in job.parts.values()]
    last_utc = max((stroke for stroke in strokes if stroke is not None), default=None)
    if last_utc is None:
        missing = (*(() if job.batch else ("batch",)), *(() if job.panel_c else ("surface",)))
        return (Say("before_first", {"missing": missing}),)
    changed_utc = job.applicator_changed_at_utc
    if changed_utc is not None and changed_utc >= last_utc:
        return (Say("applicator_fresh"),)
    stood_s = (at_utc - last_utc).total_seconds()
    return (Say("applicator_stood", {"stood_s": stood_s}),) if stood_s > STOOD_S else ()


def towels_spent_at_utc(job: Job) -> datetime | None:
    """When so many panels had been levelled with the same towels as the sheet allows."""
    coating = job.product("coating")
    most = coating.panels_per_towel if coating else None
    since_utc = job.towels_changed_at_utc or job.opened_at_utc
    used = sorted(
        part.levelled_at_utc
        for part in job.parts.values()
        if part.levelled_at_utc and part.levelled_at_utc > since_utc and not part.included_in
    )
    return used[most - 1] if most and len(used) >= most else None
