"""Air, surfaces and film: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from bayhelper.terms.choices import AirSource, Flag
from bayhelper.terms.fact import Event
from bayhelper.terms.saying import Saying, Urgency


@dataclass(frozen=True, kw_only=True)
class AirTempRead(Event):
    temp_c: float
    """Degrees Celsius."""
    measured_at_utc: datetime | None = None
    """When it was measured, where that was not when it came."""
    source: AirSource = "said"
    """Where it came from."""


@dataclass(frozen=True, kw_only=True)
class HumidityRead(Event):
    humidity_percent: float
    """Relative humidity."""
    measured_at_utc: datetime | None = None
    """When it was measured, where that was not when it came."""
    source: AirSource = "said"
    """Where it came from."""


@dataclass(frozen=True, kw_only=True)
class PanelTempRead(Event):
    panel: str
    """Panel id, or empty for the car as a whole."""
    temp_c: float
    """Degrees Celsius."""


@dataclass(frozen=True, kw_only=True)
class FilmRead(Event):
    panel: str
    """Panel id."""
    film_um: float
    """Total film, micrometres."""


@dataclass(frozen=True, kw_only=True)
class PanelFlagged(Event):
    panel: str
    """Panel id."""
    flag: Flag
    """'repainted', 'thin', 'matte', 'wrapped', 'single_stage', 'plastic' or 'normal'."""


@dataclass(frozen=True, kw_only=True)
class AirReply(Saying, always_said=True):
    """Air temperature, read back."""

    temp_c: float
    """Degrees Celsius."""


@dataclass(frozen=True, kw_only=True)
class HumidityReply(Saying, always_said=True):
    """Relative humidity, read back."""

    humidity_percent: float
    """Relative humidity."""


@dataclass(frozen=True, kw_only=True)
class PanelTempReply(Saying, always_said=True):
    """Surface temperature, read back."""

    panel: str
    """Panel id; empty for the car."""
    temp_c: float
    """Degrees Celsius."""


@dataclass(frozen=True, kw_only=True)
class TempImpossibleRefusal(Saying):
    """No air or panel in a bay has that temperature."""


@dataclass(frozen=True, kw_only=True)
class HumidityImpossibleRefusal(Saying):
    """No air has that humidity."""


@dataclass(frozen=True, kw_only=True)
class FilmImpossibleRefusal(Saying):
    """No film has that thickness."""


@dataclass(frozen=True, kw_only=True)
class NoReadingPossibleRefusal(Saying):
    """A gauge reads nothing on that material."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class FilmReply(Saying, always_said=True):
    """A film reading, read back, with the mean of several."""

    panel: str
    """Panel id."""
    film_um: float
    """The reading, micrometres."""
    mean_um: float
    """Mean of all of the panel, micrometres."""
    count: int
    """How many there are."""
    wrapped: bool
    """Whether a wrap lies on the panel and is part of the reading."""


@dataclass(frozen=True, kw_only=True)
class FlaggedReply(Saying):
    """What a panel is, read back, and what that asks for."""

    panel: str
    """Panel id."""
    flag: Flag
    """What was told."""


@dataclass(frozen=True, kw_only=True)
class NearDewPointReply(Saying, urgency=Urgency.SOFT):
    """A surface is so cold that water may settle on it."""

    panel: str
    """Panel id; empty for the car."""
    margin_c: float
    """Kelvins above the dew point; negative below it."""


@dataclass(frozen=True, kw_only=True)
class OutsideSheetReply(Saying, urgency=Urgency.SOFT):
    """The air or a surface has left the range of the sheet."""

    what: str
    """What has, and how, such as 'panel too hot'."""
    panel: str
    """Panel that was measured; empty for the air."""


@dataclass(frozen=True, kw_only=True)
class RetimedReply(Saying, urgency=Urgency.SOFT):
    """A reading moved the clocks of open parts; the first of them is told."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    wipe_in_s: float
    """Seconds until it is to be wiped off."""
