"""Batch, applicator and towels: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayhelper.terms.fact import Event
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class BatchRead(Event):
    batch: str
    """Batch number of the coating; digits when it was spoken."""


@dataclass(frozen=True, kw_only=True)
class ApplicatorChanged(Event):
    pass


@dataclass(frozen=True, kw_only=True)
class TowelsChanged(Event):
    pass


@dataclass(frozen=True, kw_only=True)
class BeforeFirstReply(Saying):
    """Before the first panel: prime the applicator, and what nobody told yet."""

    missing: tuple[Literal["batch", "surface"], ...]
    """What is not known."""


@dataclass(frozen=True, kw_only=True)
class ApplicatorFreshReply(Saying):
    """A fresh applicator takes more product."""


@dataclass(frozen=True, kw_only=True)
class ApplicatorStoodReply(Saying):
    """The applicator has hardened meanwhile."""

    stood_s: float
    """Seconds since it was last used."""


@dataclass(frozen=True, kw_only=True)
class ApplicatorChangedReply(Saying):
    """A fresh applicator is noted."""


@dataclass(frozen=True, kw_only=True)
class TowelsChangedReply(Saying):
    """Fresh towels are noted."""


@dataclass(frozen=True, kw_only=True)
class BatchReply(Saying):
    """The batch, read back digit by digit."""

    batch: str
    """Its number."""


@dataclass(frozen=True, kw_only=True)
class BatchImpossibleRefusal(Saying):
    """That is no batch number."""
