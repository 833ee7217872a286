"""Removers and foam that dwell: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayhelper.terms.choices import Agent
from bayhelper.terms.fact import Event
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class DwellStarted(Event):
    agent: Agent
    """Role of the product: 'pre_rinse_foam', 'iron_remover', 'tar_remover'."""
    product: str
    """Product id."""
    rinse_s: float
    """Rinse after this many seconds."""
    max_s: float
    """Must be off after this many seconds."""


@dataclass(frozen=True, kw_only=True)
class DwellEnded(Event):
    agent: Agent
    """Role of the product."""


@dataclass(frozen=True, kw_only=True)
class NoDwellSheetRefusal(Saying):
    """No sheet says how long that may stand."""

    agent: Agent
    """What dwells."""


@dataclass(frozen=True, kw_only=True)
class DwellStartedReply(Saying):
    """It is on, and when to rinse."""

    agent: Agent
    """What dwells."""
    rinse_in_s: float
    """Seconds until it is to be rinsed off."""


@dataclass(frozen=True, kw_only=True)
class NotDwellingRefusal(Saying):
    """That is not on the car."""

    agent: Literal[Agent, ""]
    """What was named; empty for nothing."""


@dataclass(frozen=True, kw_only=True)
class DwellEndedReply(Saying):
    """It is rinsed off."""

    agents: tuple[Agent, ...]
    """What dwelt."""
