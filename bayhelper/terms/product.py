"""A product sheet: what the helper needs of a product's data sheet."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar, Literal

Surface = Literal["paint", "repaint", "single_stage", "matte", "wrap", "plastic", "glass", "wheel"]
"""What a panel is finished with."""


@dataclass(frozen=True)
class SettingTimes:
    """The nominal setting window of a coating, at its reference air."""

    earliest_s: float
    """Not before, seconds from the last stroke (covered)."""
    best_s: float
    """The figure on the sheet, seconds from the last stroke."""
    latest_s: float
    """Not later, seconds from the first stroke (started)."""
    reference_c: float
    """Air temperature of those figures, degrees Celsius."""
    reference_rh_percent: float
    """Relative humidity of those figures."""
    water_exponent: float = 0.6
    """Exponent p of the water content in the rate of cure, 0 < p <= 1."""
    activation_j_mol: float = 40_000.0
    """Activation energy, joules per mole."""
    uncertainty: float = 0.25
    """Relative standard uncertainty of the window before any trial."""


@dataclass(frozen=True)
class Recoat:
    """When the next layer may follow, seconds after the panel was buffed."""

    min_s: float
    """Not before."""
    max_s: float
    """Not later."""


@dataclass(frozen=True)
class Dwell:
    """How long a remover may stand on the surface."""

    rinse_s: float
    """When it should be rinsed, seconds after it went on."""
    max_s: float
    """When it must be off, seconds after it went on."""


@dataclass(frozen=True)
class Keep:
    """Something that must not happen to the car for a time."""

    rule: str
    """As the owner is told it, such as 'Keep dry and free of dust'."""
    hours: float
    """For how long after the last panel was buffed."""


@dataclass(frozen=True)
class Product:
    """One product sheet.

    `version` is that of its form in the journal, as of an event.
    """

    version: ClassVar[int] = 1
    id: str
    """Name in data, such as 'demo_gloss'."""
    name: str
    """Name for people."""
    kind: Literal["coating", "panel_wipe", "polish", "foam", "iron_remover", "tar_remover"]
    """What it is for."""
    setting: SettingTimes | None = None
    """For coatings."""
    recoat: Recoat | None = None
    """For coatings that take layers."""
    dwell: Dwell | None = None
    """For removers and foam."""
    fresh_s: float | None = None
    """Panel wipe: how long a wiped panel counts as fresh."""
    sections_per_clean: int | None = None
    """Polish: sections worked before the pad must be cleaned (the shop's habit)."""
    residue_s: float | None = None
    """Polish: how long residue may wait before it is wiped."""
    rework_s: float | None = None
    """Coating: how long after levelling a high spot may still be levelled; None: not told."""
    surfaces: tuple[Surface, ...] = ()
    """Coating: what it may go on; empty where the sheet does not tell."""
    panels_per_towel: int | None = None
    """Coating: panels levelled before the towels should be changed (the shop's habit)."""
    look_again_s: float | None = None
    """Coating: look for high spots this long after buffing."""
    air_c: tuple[float, float] | None = None
    """Application range of temperature."""
    air_rh_percent: tuple[float, float] | None = None
    """Application range of humidity."""
    cure: tuple[str, ...] = ()
    """What else the owner should know, as sentences."""
    keep: tuple[Keep, ...] = ()
    """What must not happen until when."""
    cautions: tuple[str, ...] = ()
    """Cautions of the sheet, as sentences."""
    provenance: dict[str, str] = field(default_factory=dict)
    """Where each figure comes from, by field name; of tables as 'setting.best_s'."""
