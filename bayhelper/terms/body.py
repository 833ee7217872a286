"""A car body: its panels, and the seams between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

Kind = Literal["panel", "glass", "hidden", "trim", "wheel"]
"""What sort of surface a panel is."""
Side = Literal["left", "right", "middle"]
"""Where on the car, as seated."""
Material = Literal["steel", "aluminium", "plastic", "glass", "composite"]
"""What a panel is made of."""
Height = Literal["upper", "lower"]
"""Upper parts are worked before lower ones."""
Box = tuple[float, float, float, float]
"""A place in the drawing from above, its sides folded out flat: from and to, metres from the nose,
then from and to, metres left of the middle (right is negative)."""


@dataclass(frozen=True)
class Panel:
    """One surface that is worked and remembered on its own."""

    id: str
    """Name in data and commands, such as 'left_front_wing'; left and right as seated."""
    kind: Kind
    """What sort of surface it is."""
    side: Side
    """Side of the car."""
    part: str
    """The id without its side, such as 'front_wing'; what speech names."""
    area_m2: float
    """Surface worked, square metres."""
    material: Material
    """What it is made of (decides whether a gauge can read it)."""
    height: Height
    """Upper parts are worked before lower ones."""
    halves: tuple[str, ...] = ()
    """Names of its halves when it is usually laid in two, such as ('left', 'right')."""
    sections: int = 1
    """How many machining sections of about half a metre square it takes."""
    covered_with: str = ""
    """Panel in whose lay-down it is usually included (mirrors, pillars); empty for none."""
    plan_m: Box | None = None
    """Where it lies. None: not drawn."""


@dataclass(frozen=True)
class Seam:
    """A line where two panels meet and must be lapped."""

    id: str
    """Name in data: the two panel ids in alphabetical order, joined by '+'."""
    a: str
    """Panel id."""
    b: str
    """Panel id."""


@dataclass(frozen=True)
class Body:
    """A car body as the helper knows it.

    `version` is that of its form in the journal, as of an event.
    """

    version: ClassVar[int] = 1
    id: str
    """Such as 'saloon'."""
    name: str
    """Such as 'four-door saloon'."""
    panels: tuple[Panel, ...]
    """Every surface, in a good walking order."""
    seams: tuple[Seam, ...]
    """Every seam once."""

    def panel(self, panel_id: str) -> Panel | None:
        """The panel of that id, or None."""
        return next((p for p in self.panels if p.id == panel_id), None)

    def seams_of(self, panel_id: str) -> tuple[Seam, ...]:
        """Seams that border the panel."""
        return tuple(s for s in self.seams if panel_id in (s.a, s.b))
