"""Alerts before the coat: removers, residue, the pad, the panel wipe, old readings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bayhelper.decide.due.kind import AlertKind, Deadline, after
from bayhelper.decide.job import pads
from bayhelper.decide.job.state import Job
from bayhelper.terms.saying import Urgency


def stale_at_utc(job: Job) -> dict[str, datetime]:
    """When the panel wipe of each prepared panel goes stale, by panel."""
    return {
        part.panel: after(part.prepped_at_utc, part.fresh_s)
        for part in job.parts.values()
        if part.state == "prepped" and part.prepped_at_utc is not None
    }


def _dwell_due(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for agent, timed in job.dwells.items():
        over_utc = after(timed.since_utc, timed.max_s)
        yield kind.at(agent, after(timed.since_utc, timed.due_s), over_utc)


def _dwell_over(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for agent, timed in job.dwells.items():
        yield kind.at(agent, after(timed.since_utc, timed.max_s))


def _residue_due(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for panel, timed in job.residues.items():
        yield kind.at(panel, after(timed.since_utc, timed.due_s))


def _pad_due(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    if job.stage == "correction" and job.pad.last_section_at_utc and pads.dirty(job):
        yield kind.at("pad", job.pad.last_section_at_utc)


def _prep_stale(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for panel, due_at_utc in stale_at_utc(job).items():
        yield kind.at(panel, due_at_utc)


def _air_stale(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    """Readings that windows are reckoned with, and that have become old."""
    if job.stage in ("panel_wipe", "coating") and len(job.measured_at_utc) == 2:
        yield kind.at("air", after(min(job.measured_at_utc.values()), job.air_stale_s))


KINDS = (
    AlertKind(
        "dwell_due",
        Urgency.DUE,
        _dwell_due,
        reason="It must not dry on.",
        waits_s=(30, 20, 15),
        followed_by=("dwell_over",),
    ),
    AlertKind("dwell_over", Urgency.URGENT, _dwell_over, waits_s=(20, 15, 10), answer="delays"),
    AlertKind(
        "residue_due",
        Urgency.SOFT,
        _residue_due,
        reason="It gets harder to wipe.",
        once_more_s=900,
    ),
    AlertKind("pad_due", Urgency.SOFT, _pad_due, reason="A loaded pad cuts unevenly."),
    AlertKind("prep_stale", Urgency.SOFT, _prep_stale, reason="Dust and oil settle again."),
    AlertKind("air_stale", Urgency.SOFT, _air_stale, reason="Windows are reckoned with it."),
)
"""Kinds of alert before the coat; the waits are chosen, no source."""
