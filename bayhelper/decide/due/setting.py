"""Alerts of a coat that sets: try a wipe, wipe now, closing, overdue, bare seams."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from bayhelper.decide.due.kind import AlertKind, Deadline, after, who_laid
from bayhelper.decide.job import clocks, seams
from bayhelper.decide.job.state import Job, Part
from bayhelper.terms.saying import Urgency

TOGETHER_S = 90.0
"""A panel that is due so soon after a small part done with it is wiped in one go with that
(chosen, no source)."""
LAP_SHARE = 0.5
"""Seams should be lapped within this share of the best time after covered (chosen, no source)."""


def _clocked(job: Job) -> tuple[Part, ...]:
    """Open parts; of the small ones that were done with one panel, only the oldest."""
    told: set[str] = set()
    found: list[Part] = []
    for part in job.open_parts():
        host = part.coat.included_in
        if host not in told:
            found.append(part)
        if host:
            told.add(host)
    return tuple(found)


def _trial_ready(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for part in _clocked(job):
        trial_utc = clocks.trial_at_utc(part, job.day_window is not None)
        if trial_utc is not None and not part.coat.included_in:
            yield kind.at(part.key, trial_utc)


def _wipe_now(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    clocked = _clocked(job)
    small_of = {part.coat.included_in: part for part in clocked if part.coat.included_in}
    for part in clocked:
        best_utc = clocks.best_at_utc(part)
        if best_utc is not None and part.coat.grabbed_at_utc is None and not _called(job, part):
            joins = _joins(part, small_of.get(part.panel))
            small = bool(part.coat.included_in)
            yield kind.at(part.key, best_utc, small=small, joins=joins)


def _called(job: Job, part: Part) -> bool:
    """Whether a trial on the panel that a small part was done with called for wiping both."""
    hosts = job.parts_of(part.coat.included_in)
    return any(one.coat.ready_at_utc or one.coat.grabbed_at_utc for one in hosts)


def _joins(part: Part, small: Part | None) -> tuple[str, datetime | None]:
    """The small part that is wiped in one go with this one, and from when on that may be."""
    earliest_utc, best_utc = clocks.earliest_at_utc(part), clocks.best_at_utc(part)
    if small is None or earliest_utc is None or best_utc is None:
        return "", None
    return small.key, max(earliest_utc, best_utc - timedelta(seconds=TOGETHER_S))


def _closing(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for part in _clocked(job):
        closing_utc, latest_utc = clocks.closing_at_utc(part), clocks.latest_at_utc(part)
        if closing_utc is not None and latest_utc is not None:
            yield kind.at(part.key, closing_utc, latest_utc, small=bool(part.coat.included_in))


def _overdue(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for part in _clocked(job):
        latest_utc = clocks.latest_at_utc(part)
        if latest_utc is not None:
            yield kind.at(part.key, latest_utc, small=bool(part.coat.included_in))


def _bare_seams(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for panel in dict.fromkeys(part.panel for part in job.open_own_parts()):
        covered = [
            after(coat.covered_at_utc, LAP_SHARE * coat.window.best_s)
            for part in job.parts_of(panel)
            if (coat := part.coat).covered_at_utc and coat.window and part.state == "covered"
        ]
        bare = seams.bare_seams(job, panel)
        if covered and bare:
            neighbours = tuple(seams.across(seam, panel) for seam in bare)
            yield kind.at(panel, max(covered), neighbours=neighbours)


KINDS = (
    AlertKind(
        "trial_ready",
        Urgency.SOFT,
        _trial_ready,
        for_whom=who_laid,
        tone_only=True,
        followed_by=("wipe_now", "closing", "overdue"),
    ),
    AlertKind(
        "wipe_now",
        Urgency.DUE,
        _wipe_now,
        reason="Later it grabs.",
        for_whom=who_laid,
        waits_s=(30, 20, 15),
        followed_by=("closing", "overdue"),
    ),
    AlertKind(
        "closing",
        Urgency.URGENT,
        _closing,
        for_whom=who_laid,
        waits_s=(20, 15),
        answer="delays",
        followed_by=("overdue",),
    ),
    AlertKind(
        "overdue",
        Urgency.URGENT,
        _overdue,
        for_whom=who_laid,
        waits_s=(60, 45, 30),
        answer="delays",
    ),
    AlertKind(
        "bare_seams",
        Urgency.DUE,
        _bare_seams,
        reason="Once set, a bare strip stays bare.",
        for_whom=who_laid,
        waits_s=(90, 60),
        followed_by=("closing", "overdue"),
    ),
)
"""Kinds of alert about a coat that sets; the waits are chosen, no source."""
