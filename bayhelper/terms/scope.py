"""What may be said now, as whoever follows the job hands it over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from bayhelper.terms.body import Body


@dataclass(frozen=True)
class Scope:
    """What may be said now."""

    body: Body
    """Whose panels can be named."""
    address: str
    """The address phrase."""
    commands: frozenset[str] | None = None
    """Commands that may be given; None for all."""
    panels: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """Panels that can be meant, and halves as 'bonnet/left', by command; others take any."""
    dialect: Literal["uk", "us"] = "uk"
    """Whose meaning a colliding word has."""
    steering: Literal["left", "right"] = "right"
    """Side of the driver."""
    technicians: tuple[str, ...] = ()
    """Names that may be said first."""
