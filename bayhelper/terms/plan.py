"""A service plan: which stages a job goes through, and with what."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from bayhelper.terms.choices import Stage


@dataclass(frozen=True)
class Plan:
    """What was agreed with the owner, as the helper follows it.

    `version` is that of its form in the journal, as of an event.
    """

    version: ClassVar[int] = 1
    id: str
    """Such as 'one_step'."""
    name: str
    """Such as 'one-step polish and coat'."""
    stages: tuple[Stage, ...]
    """Stages in order."""
    layers: int
    """Layers of coating."""
    products: dict[str, str] = field(default_factory=dict)
    """Product id by role: coating, panel_wipe, polish, foam, iron_remover, tar_remover."""
    lay_down_s_per_m2: float = 90.0
    """Usual lay-down time, seconds per square metre, until the person's own is known."""
    coats: tuple[str, ...] = ("panel",)
    """Kinds of surface that are coated, of 'panel', 'glass', 'hidden', 'trim', 'wheel'."""
    cautions: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """What to say once at the start of a stage, by stage."""
