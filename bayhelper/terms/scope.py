"""What may be said now, as whoever follows the job hands it over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from bayhelper.terms.body import Body

Dialect = Literal["uk", "us"]
"""Whose words are spoken, and whose meaning a colliding word has."""
Steering = Literal["left", "right"]
"""The driver's side of the car; nearside is the other one."""


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
    dialect: Dialect = "uk"
    """Whose meaning a colliding word has."""
    steering: Steering = "right"
    """Side of the driver."""
    technicians: tuple[str, ...] = ()
    """Names that may be said first."""
