"""One kind of alert: a row that holds all that is known of it but its words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from bayhelper.decide.job.state import Job
from bayhelper.terms.saying import Urgency

PATIENCE = 20
"""After so many repeats nobody is near: from then on one every PATIENT_S (chosen, no source)."""
PATIENT_S = 300.0
"""Wait between repeats that nobody acts on, seconds (chosen, no source)."""


@dataclass(frozen=True)
class Deadline:
    """One thing that falls due at one instant, as long as the job stays as it is."""

    alert: str
    """Name of its kind."""
    urgency: Urgency
    """How soon it wants to be acted on."""
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


def anybody(job: Job, subject: str) -> str:
    """For whoever is near."""
    return ""


def who_laid(job: Job, subject: str) -> str:
    """For the person who laid the part, where that is known."""
    part = job.parts.get(subject)
    return part.coat.by if part is not None else ""


@dataclass(frozen=True)
class AlertKind:
    """One row: what an alert of this kind is about, how it comes back, and what ends it."""

    name: str
    """Key in the record and in the words of `speak`."""
    urgency: Urgency
    """How soon it wants to be acted on."""
    find: Callable[[Job, AlertKind], Iterator[Deadline]]
    """What of this kind falls due in a job, past or to come."""
    reason: str = ""
    """Why it matters, in one clause, for the teaching level; '' where there is no time for one.
    Facts of the trade: common practice, no source."""
    for_whom: Callable[[Job, str], str] = anybody
    """Name of the person it is for, by its subject; '' for whoever is near."""
    waits_s: tuple[float, ...] = ()
    """Shortening waits between repeats, seconds; the last holds. Empty: it is not repeated."""
    once_more_s: float | None = None
    """Comes back once, after so many seconds, unless it is answered; None for never."""
    tone_only: bool = False
    """Sounds a tone and says nothing."""
    answer: Literal["silences", "delays"] = "silences"
    """What an answer does: silence it for good, or, where a panel is at stake, make it wait its
    longest interval."""
    followed_by: tuple[str, ...] = ()
    """Kinds about the same subject that take its place once they are due, in their order."""

    def at(
        self,
        subject: str,
        due_at_utc: datetime,
        limit_at_utc: datetime | None = None,
        *,
        neighbours: tuple[str, ...] = (),
        small: bool = False,
        joins: tuple[str, datetime | None] = ("", None),
    ) -> Deadline:
        """A deadline of this kind; without a limit, it is too late when it is due."""
        return Deadline(
            alert=self.name,
            urgency=self.urgency,
            subject=subject,
            due_at_utc=due_at_utc,
            limit_at_utc=limit_at_utc or due_at_utc,
            neighbours=neighbours,
            small=small,
            joins=joins[0],
            joins_from_utc=joins[1],
        )

    def wait_s(self, repeat: int, answered: bool = False) -> float | None:
        """Seconds from one raising to the next; None when it is not raised again.

        `repeat` is 0 after the first raising. What is soft never nags: at most one repeat, and none
        after an answer.
        """
        if self.once_more_s is not None:
            return None if answered or repeat else self.once_more_s
        if not self.waits_s:
            return None
        if answered:
            return self.waits_s[0] if self.answer == "delays" else None
        if repeat >= PATIENCE:
            return max(self.waits_s[-1], PATIENT_S)
        return self.waits_s[min(repeat, len(self.waits_s) - 1)]


def after(at_utc: datetime, seconds: float) -> datetime:
    """The instant so many seconds later."""
    return at_utc + timedelta(seconds=seconds)
