"""What a panel's surface is, and what that forbids or asks for."""

from __future__ import annotations

from bayhelper.decide.job.state import Job
from bayhelper.terms.product import Surface

FLAGGED: dict[str, Surface] = {
    "repainted": "repaint",
    "matte": "matte",
    "wrapped": "wrap",
    "single_stage": "single_stage",
    "plastic": "plastic",
}
"""Surfaces that somebody told; the other flags ('thin', 'normal') are about ordinary paint."""
OWN: dict[str, Surface] = {"glass": "glass", "wheel": "wheel", "trim": "plastic"}
"""Surfaces that the body's sheet tells, by the kind of panel."""
NEVER_MACHINED = frozenset({"matte", "wrap", "plastic"})
"""Machining takes the matte out of matte paint, heats film, and smears plastic (common practice, no
source): only on insistence."""


def surface(job: Job, panel_id: str) -> Surface:
    """What the panel is finished with."""
    told = FLAGGED.get(job.flags.get(panel_id, ""))
    panel = job.body.panel(panel_id)
    return told or OWN.get(panel.kind if panel else "", "paint")


def gentle(job: Job, panel_id: str) -> bool:
    """Whether the machine goes there only on insistence."""
    return job.flags.get(panel_id) == "thin" or surface(job, panel_id) in NEVER_MACHINED


def unsuited(job: Job, panel_id: str) -> Surface | None:
    """The surface of the panel, where the coating's sheet names surfaces but not this one."""
    coating = job.product("coating")
    found = surface(job, panel_id)
    if coating is None or not coating.surfaces or found in coating.surfaces:
        return None
    return found
