"""What every recorded fact carries, and the decision that holds facts together."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar, Literal

from bayhelper.terms.command import SlotValue

Cause = Literal["command", "deadline", "utterance", "repair"]
"""What made a decision."""


@dataclass(frozen=True, kw_only=True)
class Event:
    """What every fact carries."""

    version: ClassVar[int] = 1
    at_utc: datetime
    """When it happened, aware, UTC."""
    by: str = ""
    """Technician's name, when it was said or known; empty otherwise."""


@dataclass(frozen=True, kw_only=True)
class Decision:
    """What came of one command or one deadline: one transaction of the journal."""

    job: str
    """Id of the job."""
    number: int
    """1, 2, 3 ... in the job, without gaps."""
    at_utc: datetime
    """When it was taken."""
    cause: Cause
    """What made it."""
    command: str = ""
    """Name of the command, for cause 'command'."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Its slots."""
    events: tuple[Event, ...] = ()
    """The facts, in order."""


@dataclass(frozen=True, kw_only=True)
class Window:
    """A setting window as computed when the panel was laid; replay never computes it again."""

    earliest_s: float
    """Not before, seconds after covered."""
    best_s: float
    """Aim for, seconds after covered."""
    latest_s: float
    """Not later, seconds after lay-down started."""
    product: str
    """Product id."""
    basis: str
    """How it was found, for people: 'sheet figure' and the like."""
