"""One thing asked for, and how near heard words come to one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

SlotValue = str | float | int | bool


@dataclass(frozen=True)
class Command:
    """One thing asked for, whoever and however said it."""

    name: str
    """Name of an act (decide.acts)."""
    slots: dict[str, SlotValue] = field(default_factory=dict)
    """Values by slot name; units are in the names."""
    said: str = ""
    """The words, without the address phrase."""


@dataclass(frozen=True)
class NearMiss:
    """Why nothing was understood, and what was nearest."""

    heard: str
    """The words heard."""
    nearest: str
    """The nearest phrase that is allowed now; empty when none is near."""
    command: Command | None
    """What that phrase would have meant."""
    edits: float
    """How far the heard words are from it; 0 is word for word."""
    why: str
    """Short reason of the refusal."""
    likely: bool = False
    """Whether it was probably meant, so that asking beats having it said again."""


@dataclass(frozen=True)
class Match:
    """Heard words laid beside everything that may be said now."""

    phrase: str
    """The nearest phrase, in full, without the address; empty when nothing may be said."""
    command: Command | None
    """What it means; None when nothing is near enough to mean anything."""
    edits: float
    """Cost of turning the heard words into the phrase; 0 is word for word."""
    addressed: bool
    """Whether the words began with the address phrase (itself matched word for word)."""
    rival_edits: float = float("inf")
    """Cost of the nearest phrase with another meaning; the gap to it is how sure the match is."""


@dataclass(frozen=True)
class Signature:
    """The slots of a command, besides the name of who speaks."""

    needs: frozenset[str]
    """Names of those that are always there."""
    may: frozenset[str]
    """Names of those that may be there."""

    def fits(self, slots: Iterable[str]) -> bool:
        """Whether these slots are all it needs, and no others than it may have."""
        named = frozenset(slots) - {"by"}
        return self.needs <= named <= self.needs | self.may
