"""What falls due in a job, and when: a pure view of the job as it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from bayhelper.decide.acts.supplies import towels_spent_at_utc
from bayhelper.decide.job import clocks, pads, seams
from bayhelper.decide.job.recoat import recoat_times
from bayhelper.decide.job.state import Job, Part
from bayhelper.terms.saying import Urgency

URGENCY: dict[str, Urgency] = {
    "trial_ready": Urgency.SOFT,
    "wipe_now": Urgency.DUE,
    "closing": Urgency.URGENT,
    "overdue": Urgency.URGENT,
    "recoat_open": Urgency.SOFT,
    "recoat_closing": Urgency.DUE,
    "recoat_missed": Urgency.DUE,
    "dwell_due": Urgency.DUE,
    "dwell_over": Urgency.URGENT,
    "look_again": Urgency.SOFT,
    "pad_due": Urgency.SOFT,
    "bare_seams": Urgency.DUE,
    "towels_due": Urgency.SOFT,
    "residue_due": Urgency.SOFT,
    "prep_stale": Urgency.SOFT,
    "air_stale": Urgency.SOFT,
}
"""How soon each kind of alert wants to be acted on."""

LATER: dict[str, tuple[str, ...]] = {
    "trial_ready": ("wipe_now", "closing", "overdue"),
    "bare_seams": ("closing", "overdue"),
    "wipe_now": ("closing", "overdue"),
    "closing": ("overdue",),
    "recoat_open": ("recoat_closing", "recoat_missed"),
    "recoat_closing": ("recoat_missed",),
    "dwell_due": ("dwell_over",),
}
"""Alerts about the same subject that take the place of an earlier one once they are due."""

TOGETHER_S = 90.0
"""A panel that is due so soon after a small part done with it is wiped in one go with that."""
LAP_SHARE = 0.5
"""Seams should be lapped within this share of the best time after covered."""


@dataclass(frozen=True)
class Deadline:
    """One thing that falls due at one instant, as long as the job stays as it is."""

    alert: str
    """Kind, a key of URGENCY."""
    subject: str
    """What it is about: a part ('roof', 'bonnet/left'), an agent, 'pad'."""
    due_at_utc: datetime
    """When it falls due."""
    limit_at_utc: datetime
    """When it is too late, for what is closing; else the due time."""
    neighbours: tuple[str, ...] = ()
    """Panels across the bare seams."""
    small: bool = False
    """Whether it is a mirror or the like, named before the panel that it was done with."""
    joins: str = ""
    """Small part with which it may be told, although it is due a little later."""
    joins_from_utc: datetime | None = None
    """From when on."""

    @property
    def key(self) -> str:
        """Name of it among all alerts, such as 'overdue:roof'."""
        return f"{self.alert}:{self.subject}"

    @property
    def urgency(self) -> Urgency:
        """How soon it wants to be acted on."""
        return URGENCY[self.alert]


def deadlines(job: Job) -> tuple[Deadline, ...]:
    """Everything that falls due, past or to come, unless something is done; earliest first."""
    if job.closed_at_utc is not None:
        return ()
    found = [
        *_setting(job),
        *_bare(job),
        *_dwelling(job),
        *_waiting(job),
        *_coated(job),
        *_pad(job),
        *_preps(job),
        *_air(job),
        *_towels(job),
    ]
    return tuple(sorted(found, key=lambda d: (d.due_at_utc, -d.urgency, d.alert, d.subject)))


def stale_at_utc(job: Job) -> dict[str, datetime]:
    """When the panel wipe of each prepared panel goes stale, by panel."""
    return {
        part.panel: _after(part.prepped_at_utc, part.fresh_s)
        for part in job.parts.values()
        if part.state == "prepped" and part.prepped_at_utc is not None
    }


def _after(at_utc: datetime, seconds: float) -> datetime:
    return at_utc + timedelta(seconds=seconds)


def _at(
    alert: str, subject: str, due_at_utc: datetime, limit_at_utc: datetime | None = None
) -> Deadline:
    return Deadline(alert, subject, due_at_utc, limit_at_utc or due_at_utc)


def _setting(job: Job) -> Iterator[Deadline]:
    clocked = tuple(_clocked(job))
    small_of = {part.included_in: part for part in clocked if part.included_in}
    for part in clocked:
        trial = clocks.trial_at_utc(part, job.day_window is not None)
        best = clocks.best_at_utc(part)
        closing, latest = clocks.closing_at_utc(part), clocks.latest_at_utc(part)
        if trial is not None and not part.included_in:
            yield _at("trial_ready", part.key, trial)
        small = bool(part.included_in)
        if best is not None and part.grabbed_at_utc is None and not _called(job, part):
            joins, from_utc = _joins(part, small_of.get(part.panel))
            yield Deadline("wipe_now", part.key, best, best, (), small, joins, from_utc)
        if closing is not None and latest is not None:
            yield Deadline("closing", part.key, closing, latest, small=small)
            yield Deadline("overdue", part.key, latest, latest, small=small)


def _called(job: Job, part: Part) -> bool:
    """Whether a trial on the panel that a small part was done with called for wiping both."""
    return any(one.ready_at_utc or one.grabbed_at_utc for one in job.parts_of(part.included_in))


def _clocked(job: Job) -> Iterator[Part]:
    """Open parts; of the small ones that were done with one panel, only the oldest."""
    told: set[str] = set()
    for part in job.open_parts():
        if part.included_in not in told:
            yield part
        if part.included_in:
            told.add(part.included_in)


def _joins(part: Part, small: Part | None) -> tuple[str, datetime | None]:
    """The small part that is wiped in one go with this one, and from when on that may be."""
    earliest, best = clocks.earliest_at_utc(part), clocks.best_at_utc(part)
    if small is None or earliest is None or best is None:
        return "", None
    return small.key, max(earliest, best - timedelta(seconds=TOGETHER_S))


def _bare(job: Job) -> Iterator[Deadline]:
    for panel in dict.fromkeys(part.panel for part in job.open_own_parts()):
        covered = [
            _after(part.covered_at_utc, LAP_SHARE * part.window.best_s)
            for part in job.parts_of(panel)
            if part.state == "covered" and part.covered_at_utc and part.window
        ]
        bare = seams.bare_seams(job, panel)
        if covered and bare:
            neighbours = tuple(seams.across(seam, panel) for seam in bare)
            due_at_utc = max(covered)
            yield Deadline("bare_seams", panel, due_at_utc, due_at_utc, neighbours)


def _dwelling(job: Job) -> Iterator[Deadline]:
    for agent, timed in job.dwells.items():
        over_at_utc = _after(timed.since_utc, timed.max_s)
        yield _at("dwell_due", agent, _after(timed.since_utc, timed.due_s), over_at_utc)
        yield _at("dwell_over", agent, over_at_utc)


def _waiting(job: Job) -> Iterator[Deadline]:
    for panel, timed in job.residues.items():
        yield _at("residue_due", panel, _after(timed.since_utc, timed.due_s))


def _coated(job: Job) -> Iterator[Deadline]:
    """Layers to come, and high spots to look for once more."""
    coating = job.product("coating")
    look_again_s = coating.look_again_s if coating else None
    for part in job.parts.values():
        if part.included_in or part.buffed_at_utc is None or part.state not in ("buffed", "done"):
            continue
        since_utc = _to_look_at_since(job, part)
        if look_again_s is not None and since_utc is not None:
            yield _at("look_again", part.key, _after(since_utc, look_again_s))
        times = recoat_times(job, part)
        if times is not None:
            yield _at("recoat_open", part.key, times.open_at_utc)
            yield _at("recoat_closing", part.key, times.closing_at_utc, times.missed_at_utc)
            yield _at("recoat_missed", part.key, times.missed_at_utc)


def _to_look_at_since(job: Job, part: Part) -> datetime | None:
    """From the last repair, or from buffing, until it was looked over after that."""
    repairs = [d.fixed_at_utc for d in job.defects if d.panel == part.panel and d.fixed_at_utc]
    since_utc = max([*repairs, *([part.buffed_at_utc] if part.buffed_at_utc else [])])
    looked = part.checked_at_utc is not None and part.checked_at_utc >= since_utc
    return None if looked else since_utc


def _pad(job: Job) -> Iterator[Deadline]:
    if job.stage == "correction" and job.pad.last_section_at_utc and pads.dirty(job):
        yield _at("pad_due", "pad", job.pad.last_section_at_utc)


def _air(job: Job) -> Iterator[Deadline]:
    """Readings that windows are reckoned with, and that have become old."""
    if job.stage in ("panel_wipe", "coating") and len(job.measured_at_utc) == 2:
        yield _at("air_stale", "air", _after(min(job.measured_at_utc.values()), job.air_stale_s))


def _towels(job: Job) -> Iterator[Deadline]:
    spent = towels_spent_at_utc(job)
    if spent is not None and job.stage == "coating":
        yield _at("towels_due", "towels", spent)


def _preps(job: Job) -> Iterator[Deadline]:
    for panel, due_at_utc in stale_at_utc(job).items():
        yield _at("prep_stale", panel, due_at_utc)
