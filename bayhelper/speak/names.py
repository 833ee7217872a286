"""Spoken names of panels, in the dialect of the shop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayhelper.terms.body import Body

DIFFERENT: dict[str, dict[str, str]] = {
    "uk": {
        "boot_lid": "boot lid",
        "quarter": "rear wing",
        "b_pillar": "centre pillar",
        "d_pillar": "rear pillar",
    },
    "us": {
        "bonnet": "hood",
        "boot_lid": "trunk lid",
        "front_wing": "front fender",
        "quarter": "quarter panel",
        "sill": "rocker panel",
        "windscreen": "windshield",
        "rear_screen": "rear window",
        "b_pillar": "center pillar",
        "d_pillar": "rear pillar",
    },
}
"""Parts whose name is not simply their id in words, by dialect."""


@dataclass(frozen=True)
class Names:
    """How the panels of one car are called."""

    body: Body
    """The car body."""
    dialect: Literal["uk", "us"]
    """Whose words are spoken."""

    def panel(self, panel_id: str) -> str:
        """Spoken name of a panel, its side first: 'left front wing' or 'left front fender'."""
        known = self.body.panel(panel_id)
        if known is None:
            return panel_id.replace("_", " ")
        name = DIFFERENT[self.dialect].get(known.part, known.part.replace("_", " "))
        return name if known.side == "middle" else f"{known.side} {name}"
