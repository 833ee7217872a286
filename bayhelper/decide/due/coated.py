"""Alerts of what was coated: look again, the next layer, towels."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from bayhelper.decide.due.kind import AlertKind, Deadline, after
from bayhelper.decide.job.recoat import RecoatTimes, recoat_times
from bayhelper.decide.job.state import Job, Part
from bayhelper.decide.job.towels import towels_spent_at_utc
from bayhelper.terms.saying import Urgency


def _coated(job: Job) -> Iterator[Part]:
    """Parts laid for themselves from which the product was wiped off."""
    for part in job.parts.values():
        buffed = part.coat.buffed_at_utc is not None and part.state in ("buffed", "done")
        if buffed and not part.coat.included_in:
            yield part


def _look_again(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    coating = job.product("coating")
    look_again_s = coating.look_again_s if coating else None
    for part in _coated(job):
        since_utc = _to_look_at_since(job, part)
        if look_again_s is not None and since_utc is not None:
            yield kind.at(part.key, after(since_utc, look_again_s))


def _to_look_at_since(job: Job, part: Part) -> datetime | None:
    """From the last repair, or from buffing, until it was looked over after that."""
    coat = part.coat
    repairs = [d.fixed_at_utc for d in job.defects if d.panel == part.panel and d.fixed_at_utc]
    since_utc = max([*repairs, *([coat.buffed_at_utc] if coat.buffed_at_utc else [])])
    looked = coat.checked_at_utc is not None and coat.checked_at_utc >= since_utc
    return None if looked else since_utc


def _timed(job: Job) -> Iterator[tuple[str, RecoatTimes]]:
    for part in _coated(job):
        times = recoat_times(job, part)
        if times is not None:
            yield part.key, times


def _recoat_open(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for key, times in _timed(job):
        yield kind.at(key, times.open_at_utc)


def _recoat_closing(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for key, times in _timed(job):
        yield kind.at(key, times.closing_at_utc, times.missed_at_utc)


def _recoat_missed(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    for key, times in _timed(job):
        yield kind.at(key, times.missed_at_utc)


def _towels_due(job: Job, kind: AlertKind) -> Iterator[Deadline]:
    spent_utc = towels_spent_at_utc(job)
    if spent_utc is not None and job.stage == "coating":
        yield kind.at("towels", spent_utc)


KINDS = (
    AlertKind(
        "look_again",
        Urgency.SOFT,
        _look_again,
        reason="After cure only polishing removes them.",
        once_more_s=900,
    ),
    AlertKind(
        "recoat_open",
        Urgency.SOFT,
        _recoat_open,
        reason="The layer below has set enough.",
        followed_by=("recoat_closing", "recoat_missed"),
    ),
    AlertKind(
        "recoat_closing",
        Urgency.DUE,
        _recoat_closing,
        reason="Later the layers do not bond.",
        waits_s=(900, 600, 300),
        followed_by=("recoat_missed",),
    ),
    AlertKind(
        "recoat_missed",
        Urgency.DUE,
        _recoat_missed,
        reason="The layers would not bond.",
        once_more_s=900,
    ),
    AlertKind(
        "towels_due",
        Urgency.SOFT,
        _towels_due,
        reason="Cured product in a towel scratches.",
    ),
)
"""Kinds of alert about what was coated; the waits are chosen, no source."""
