"""The slots of commands: what may be named in a phrase, with its type and its unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Generic, TypeVar, get_args

from bayhelper.terms.choices import (
    Agent,
    DefectKind,
    Flag,
    Place,
    Stage,
    TrialResult,
)
from bayhelper.terms.command import Command
from bayhelper.terms.errors import DecisionError

Value = TypeVar("Value", bound=str | float | bool)


@dataclass(frozen=True)
class Slot(Generic[Value]):
    """One thing that a phrase may name."""

    name: str
    """Key in a command's slots; the unit is in it."""
    about: str
    """What it holds, for the help card."""
    kind: type[Any] = field(repr=False)
    """Type of its value; a whole number passes for a float."""
    choices: tuple[Value, ...] = ()
    """Closed set that it comes from; empty for any value of the type."""

    def given(self, command: Command) -> Value | None:
        """Its value in the command; None where it was not said.

        Raises DecisionError for a value of another type, or none of its choices.
        """
        value: Any = command.slots.get(self.name)
        if value is None:
            return None
        if self.kind is float and isinstance(value, int) and not isinstance(value, bool):
            value = float(value)
        if not isinstance(value, self.kind) or (self.choices and value not in self.choices):
            wanted = ", ".join(map(str, self.choices)) or f"a value of type {self.kind.__name__}"
            raise DecisionError(
                f"'{command.name}' came with {self.name} = {value!r}, but it must be {wanted}. "
                "Correct the tag in the grammar of that phrase."
            )
        kept: Value = value
        return kept

    def of(self, command: Command) -> Value:
        """Its value in a command that cannot do without it.

        Raises DecisionError where it is missing.
        """
        value = self.given(command)
        if value is None:
            raise DecisionError(
                f"'{command.name}' came without {self.name}. Add its tag to the grammar of that "
                "phrase, or name the slot among those that it needs."
            )
        return value


PANEL: Slot[str] = Slot("panel", "id of a panel of the body, such as 'left_front_wing'", str)
"""The panel that is meant."""
NEIGHBOUR: Slot[str] = Slot("neighbour", "id of the panel across the seam", str)
"""The panel on the other side of a seam."""
HALF: Slot[str] = Slot("half", "'left', 'right', 'front' or 'rear' half of a large panel", str)
"""The half that is meant, of those that the body gives the panel."""
PLACE: Slot[Place] = Slot("place", "where on the panel", str, get_args(Place))
"""Where on the panel."""
STAGE: Slot[Stage] = Slot("stage", "a stage of the work", str, get_args(Stage))
"""Which stage."""
PLAN: Slot[str] = Slot("plan", "id of a plan, such as 'one_step'", str)
"""Which plan."""
BODY: Slot[str] = Slot("body", "id of a car body, such as 'saloon'", str)
"""Which car body."""
FLAG: Slot[Flag] = Slot("flag", "what the surface of a panel is", str, get_args(Flag))
"""What a surface is."""
RESULT: Slot[TrialResult] = Slot("result", "of a trial wipe", str, get_args(TrialResult))
"""How a trial wipe went."""
AGENT: Slot[Agent] = Slot("agent", "what dwells on the car", str, get_args(Agent))
"""What dwells."""
KIND: Slot[DefectKind] = Slot("kind", "of a find", str, get_args(DefectKind))
"""What was found."""
BATCH: Slot[str] = Slot("batch", "batch number of the coating, digits", str)
"""Number on the bottle."""
TEMP_C: Slot[float] = Slot("temp_c", "degrees Celsius, also when Fahrenheit was said", float)
"""A temperature."""
HUMIDITY_PERCENT: Slot[float] = Slot("humidity_percent", "relative humidity", float)
"""Of the air."""
FILM_UM: Slot[float] = Slot("film_um", "micrometres, also when mils were said", float)
"""Thickness of a film."""
MINUTES: Slot[float] = Slot("minutes", "minutes", float)
"""A length of time."""
LAYER: Slot[int] = Slot("layer", "number of a layer, from 1", int)
"""Which layer."""
ALL_ROUND: Slot[bool] = Slot("all_round", "only ever true: every seam of the panel", bool)
"""Every seam of the panel lapped."""
BY: Slot[str] = Slot("by", "name of the technician, said first", str)
"""Who speaks; may stand before any command."""

SLOTS: Mapping[str, Slot[Any]] = MappingProxyType(
    {slot.name: slot for slot in list(globals().values()) if isinstance(slot, Slot)}
)
"""Every slot by name."""
