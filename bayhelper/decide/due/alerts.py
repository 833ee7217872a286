"""Alerts: which are raised at which instant, how they are grouped, repeated and silenced.

Due instants are walked in order, each group raised at its own instant, so that neither the size of
the step nor a restart changes what is recorded. Only what is spoken depends on when that happens:
late catching-up speaks once, about the newest state.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from bayhelper.decide.due.deadlines import KINDS, deadlines
from bayhelper.decide.due.kind import Deadline
from bayhelper.decide.due.preparing import stale_at_utc
from bayhelper.decide.job.state import AlertMemory, Job
from bayhelper.decide.outcome import Outcome
from bayhelper.terms.effects import Effect, Tone
from bayhelper.terms.events import AlertRaised, Event, PrepWentStale
from bayhelper.terms.saying import Called, DueAlert, Urgency

GROUP_S = 20.0
"""Alerts due within this time of the first are one sentence, seconds (chosen, no source)."""

TONE: dict[Urgency, Tone] = {
    Urgency.SOFT: Tone("soft"),
    Urgency.DUE: Tone("due"),
    Urgency.URGENT: Tone("urgent"),
}
"""The tone of what has no words."""

Key = tuple[str, str]
Memory = Mapping[Key, AlertMemory]


def tick(job: Job, now_utc: datetime) -> Outcome:
    """Everything that fell due up to now and was not raised yet.

    The events are the same whether time comes in seconds or in one jump; the effects are at most
    one sentence or tone, for what still stands now.
    """
    events, raised = _facts(job, now_utc)
    standing = _standing(deadlines(job), raised, now_utc, job.alerts)
    return Outcome(events, tuple(_effects(job, standing, now_utc)))


def take_up(job: Job, now_utc: datetime) -> Outcome:
    """The same after a restart, with the same events; but what was raised before it, and would
    speak again by itself, is said at once, with its true age.
    """
    events, raised = _facts(job, now_utc)
    due = deadlines(job)
    before = []
    for deadline in due:
        known = _remembered(deadline, job.alerts)
        if known is not None and (
            KINDS[deadline.alert].wait_s(known.repeat, known.answered) is not None
        ):
            before.append(deadline)
    standing = _standing(due, (*before, *raised), now_utc, job.alerts)
    return Outcome(events, tuple(_effects(job, standing, now_utc)))


def _facts(job: Job, now_utc: datetime) -> tuple[tuple[Event, ...], tuple[Deadline, ...]]:
    """The events that time brings up to now, and the alerts among them."""
    events: list[Event] = list(_gone_stale(job, now_utc))
    raised: dict[Key, Deadline] = {}
    for at_utc, group in _walk(job, now_utc):
        for deadline, repeat in group:
            raised[(deadline.alert, deadline.subject)] = deadline
            events.append(
                AlertRaised(
                    at_utc=at_utc,
                    alert=deadline.alert,
                    subject=deadline.subject,
                    due_at_utc=deadline.due_at_utc,
                    repeat=repeat,
                )
            )
    events.sort(key=lambda event: event.at_utc)
    return tuple(events), tuple(raised.values())


def next_due_utc(job: Job) -> datetime | None:
    """When the next alert is to be raised or the next panel wipe goes stale; None for never."""
    instants = [at_utc for at_utc, _ in _pending(deadlines(job), job.alerts, _floor(job))]
    if job.closed_at_utc is None:
        instants += [max(at_utc, _floor(job)) for at_utc in stale_at_utc(job).values()]
    return min(instants, default=None)


def sounding(job: Job) -> tuple[Deadline, ...]:
    """Alerts that were raised, stand, and were not answered; the most urgent first."""
    due = deadlines(job)
    known = [d for d in due if _remembered(d, job.alerts) is not None]
    last_utc = job.decisions[-1].at_utc if job.decisions else job.opened_at_utc
    standing = _standing(due, known, last_utc, job.alerts)
    return tuple(d for d in standing if not job.alerts[(d.alert, d.subject)].answered)


def _gone_stale(job: Job, now_utc: datetime) -> Iterator[Event]:
    if job.closed_at_utc is not None:
        return
    floor_utc = _floor(job)
    for panel, due_at_utc in stale_at_utc(job).items():
        if max(due_at_utc, floor_utc) <= now_utc:
            yield PrepWentStale(at_utc=max(due_at_utc, floor_utc), panel=panel)


def _floor(job: Job) -> datetime:
    """The last command: what it made due in the past is raised at its own instant."""
    commands = (d.at_utc for d in reversed(job.decisions) if d.cause == "command")
    return next(commands, job.opened_at_utc)


def _remembered(deadline: Deadline, memory: Memory) -> AlertMemory | None:
    """What is remembered of this very alert; another due time is another alert."""
    known = memory.get((deadline.alert, deadline.subject))
    return known if known is not None and known.due_at_utc == deadline.due_at_utc else None


def _instant(deadline: Deadline, memory: Memory, floor_utc: datetime) -> datetime | None:
    """When it is to be raised next; None for never.

    A small part is called for once: after that its panel is, with which it is wiped.
    """
    known = _remembered(deadline, memory)
    if known is None:
        return max(deadline.due_at_utc, floor_utc)
    if deadline.small and deadline.alert == "wipe_now":
        return None
    wait_s = KINDS[deadline.alert].wait_s(known.repeat, known.answered)
    if wait_s is None:
        return None
    return max(known.raised_at_utc + timedelta(seconds=wait_s), floor_utc)


def _replaced(
    deadline: Deadline, by_key: Mapping[Key, Deadline], memory: Memory, at_utc: datetime
) -> bool:
    """Whether a later alert about the same subject has taken its place by then."""
    for alert in KINDS[deadline.alert].followed_by:
        later = by_key.get((alert, deadline.subject))
        if later is not None and (
            later.due_at_utc <= at_utc or _remembered(later, memory) is not None
        ):
            return True
    return False


def _pending(
    due: Iterable[Deadline], memory: Memory, floor_utc: datetime
) -> list[tuple[datetime, Deadline]]:
    """Each deadline that is still to be raised, with its next instant; earliest first."""
    by_key = {(d.alert, d.subject): d for d in due}
    found = []
    for deadline in by_key.values():
        at_utc = _instant(deadline, memory, floor_utc)
        if at_utc is not None and not _replaced(deadline, by_key, memory, at_utc):
            found.append((at_utc, deadline))
    return sorted(found, key=lambda item: (item[0], item[1].due_at_utc, item[1].subject))


def _walk(
    job: Job, now_utc: datetime
) -> Iterator[tuple[datetime, tuple[tuple[Deadline, int], ...]]]:
    """Groups raised up to now, each with its instant; every member with its repeat."""
    due = deadlines(job)
    floor_utc = _floor(job)
    memory = dict(job.alerts)
    while pending := _pending(due, memory, floor_utc):
        at_utc = pending[0][0]
        if at_utc > now_utc:
            return
        group = []
        for deadline in _group(pending, memory):
            known = _remembered(deadline, memory)
            repeat = known.repeat + 1 if known else 0
            fresh = AlertMemory(deadline.due_at_utc, at_utc, repeat)
            memory[(deadline.alert, deadline.subject)] = (
                replace(fresh, answered=known.answered) if known else fresh
            )
            group.append((deadline, repeat))
        yield at_utc, tuple(group)


def _group(pending: list[tuple[datetime, Deadline]], memory: Memory) -> list[Deadline]:
    """What is raised together at the first pending instant.

    With a sentence come all that are due within GROUP_S, a panel with the small part that is wiped
    in one go with it, and repeats of the same kind whenever they are due, so that several panels
    that wait for the same thing are named at once. Of two alerts about one subject only the earlier
    comes. Tones without words are raised by themselves.
    """
    at_utc = pending[0][0]
    first = [d for due_utc, d in pending if due_utc == at_utc]
    spoken = {d.alert for d in first if not KINDS[d.alert].tone_only}
    if not spoken:
        return first
    subjects = {d.subject for d in first if d.alert == "wipe_now"}
    group: list[Deadline] = []
    taken: set[tuple[str, str]] = set()
    for due_utc, deadline in pending:
        if KINDS[deadline.alert].tone_only:
            continue
        soon = due_utc <= at_utc + timedelta(seconds=GROUP_S)
        from_utc = deadline.joins_from_utc
        soon = soon or (deadline.joins in subjects and from_utc is not None and from_utc <= at_utc)
        same = deadline.alert in spoken and _remembered(deadline, memory) is not None
        line = (_line(deadline.alert), deadline.subject)
        if (soon or same) and line not in taken:
            taken.add(line)
            group.append(deadline)
    return group


def _line(alert: str) -> str:
    """The last of the alerts that take each other's place: one name for all of them."""
    return (alert, *KINDS[alert].followed_by)[-1]


def _standing(
    due: Iterable[Deadline], raised: Iterable[Deadline], now_utc: datetime, memory: Memory
) -> tuple[Deadline, ...]:
    """Of what was raised, that which nothing later has replaced by now; most urgent first.

    Of soft reminders, those that nobody has heard yet come before the repeats.
    """
    kept = {(d.alert, d.subject): d for d in raised}
    passed = {(d.alert, d.subject) for d in due if d.due_at_utc <= now_utc} | set(kept)
    standing = [
        d
        for d in kept.values()
        if not any((later, d.subject) in passed for later in KINDS[d.alert].followed_by)
    ]
    return tuple(
        sorted(
            standing,
            key=lambda d: (
                -d.urgency,
                bool(KINDS[d.alert].followed_by),
                d.urgency == Urgency.SOFT and _remembered(d, memory) is not None,
                d.limit_at_utc,
                not d.small,
                d.alert,
                d.subject,
            ),
        )
    )


def _effects(job: Job, standing: tuple[Deadline, ...], now_utc: datetime) -> Iterator[Effect]:
    spoken = [d for d in standing if not KINDS[d.alert].tone_only]
    if job.dictating:
        spoken = [d for d in spoken if d.urgency == Urgency.URGENT]
    if spoken:
        yield _sentence(job, spoken, now_utc)
    elif standing:
        yield TONE[max(d.urgency for d in standing)]


def _sentence(job: Job, spoken: list[Deadline], now_utc: datetime) -> DueAlert:
    first = spoken[0]
    return DueAlert(
        called=tuple(
            Called(
                alert=deadline.alert,
                subject=deadline.subject,
                due_in_s=(deadline.due_at_utc - now_utc).total_seconds(),
                left_s=(deadline.limit_at_utc - now_utc).total_seconds(),
                urgency=deadline.urgency,
                for_whom=KINDS[deadline.alert].for_whom(job, deadline.subject),
            )
            for deadline in spoken
        ),
        neighbours=first.neighbours,
        reason=KINDS[first.alert].reason if len(spoken) == 1 else "",
    )
