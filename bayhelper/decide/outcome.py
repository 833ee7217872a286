"""What a decision needs from outside, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bayhelper.terms.body import Body
from bayhelper.terms.command import Command
from bayhelper.terms.effects import Chatter, Effect
from bayhelper.terms.events import Event
from bayhelper.terms.plan import Plan
from bayhelper.terms.product import Product


@dataclass(frozen=True)
class Desk:
    """What lies ready for opening a job: sheets and settings, already read."""

    next_job: str
    """Id for the next job."""
    plans: dict[str, Plan]
    """Plans by id."""
    bodies: dict[str, Body]
    """Bodies by id."""
    products: dict[str, Product]
    """Products by id."""
    plan: str = "one_step"
    """Plan used when none is said."""
    body: str = "saloon"
    """Body used when none is said."""
    technicians: tuple[str, ...] = ()
    """Names that may be said first."""
    dialect: Literal["uk", "us"] = "uk"
    """Dialect spoken."""
    steering: Literal["left", "right"] = "right"
    """Side of the driver."""
    car: str = ""
    """Description of the vehicle."""
    batch: str = ""
    """Batch number of the coating, where it is set."""
    air: tuple[float, float] | None = None
    """Air temperature (degrees Celsius) and relative humidity that a job begins with."""
    air_stale_s: float = 3600.0
    """Readings of the air older than this are stale, seconds."""
    chatter: Chatter = "normal"
    """How much is said."""


@dataclass(frozen=True)
class Outcome:
    """Facts to record, then things to do."""

    events: tuple[Event, ...] = ()
    """Facts, in order."""
    effects: tuple[Effect, ...] = ()
    """What follows once they are on disk."""
    command: Command | None = field(default=None)
    """The command that was carried out, when it is not the one given (an insisted one)."""
