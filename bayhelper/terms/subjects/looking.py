"""Looking over, and what is found: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayhelper.terms.choices import DefectKind, Place
from bayhelper.terms.fact import Event
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class Checked(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class DefectFound(Event):
    panel: str
    """Panel id."""
    kind: DefectKind
    """'high_spot', 'run' or 'water'."""
    place: Literal[Place, ""] = ""
    """Where on it."""


@dataclass(frozen=True, kw_only=True)
class DefectFixed(Event):
    panel: str
    """Panel id."""
    kind: Literal[DefectKind, ""] = ""
    """Which kind, or empty for all of them."""


@dataclass(frozen=True, kw_only=True)
class SentBack(Event):
    panel: str
    """Panel that goes back to correction, panel wipe and coat."""


@dataclass(frozen=True, kw_only=True)
class NotBuffedRefusal(Saying):
    """It is looked over after it was buffed."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class CheckedReply(Saying):
    """Somebody looked the panel over."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class FoundHighSpotReply(Saying):
    """A high spot, and what to do."""

    panel: str
    """Panel id."""
    place: Literal[Place, ""]
    """Where on it; empty when it was not said."""
    age_s: float
    """Seconds since it was levelled, or covered."""
    known: bool
    """Whether the sheet tells until when it may be levelled."""


@dataclass(frozen=True, kw_only=True)
class FoundRunReply(Saying):
    """A run, and what to do."""

    panel: str
    """Panel id."""
    place: Literal[Place, ""]
    """Where on it; empty when it was not said."""
    age_s: float
    """Seconds since it was levelled, or covered."""
    known: bool
    """Whether the sheet tells until when it may be levelled."""


@dataclass(frozen=True, kw_only=True)
class FoundWaterReply(Saying):
    """Water on the coating, and what to do."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class FoundLateReply(Saying):
    """A find that is too old to be levelled."""

    panel: str
    """Panel id."""
    found: DefectKind
    """What was found."""
    age_s: float
    """Seconds since it was levelled, or covered."""


@dataclass(frozen=True, kw_only=True)
class NoDefectRefusal(Saying):
    """Nothing was noted there."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class DefectFixedReply(Saying):
    """The find was dealt with."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class SentBackReply(Saying):
    """The panel goes back to correction."""

    panel: str
    """Panel id."""
