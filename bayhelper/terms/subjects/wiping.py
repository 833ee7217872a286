"""Trial wipes, levelling, buffing: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass

from bayhelper.terms.choices import TrialResult
from bayhelper.terms.fact import Event, Window
from bayhelper.terms.saying import Saying, Urgency


@dataclass(frozen=True, kw_only=True)
class TrialMade(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""
    result: TrialResult
    """'wet', 'clean' or 'grabbing'."""
    covered_for_s: float
    """Seconds since covered."""
    cure_s: float | None = None
    """Cure since covered, in seconds of the sheet's reference air; None for the plain seconds."""
    from_first_s: float | None = None
    """The same since the first stroke."""
    rate: float = 1.0
    """Mean rate of cure until then, relative to the reference air."""


@dataclass(frozen=True, kw_only=True)
class WindowRetimed(Event):
    """The air, or what trials said, moved the window of an open part."""

    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""
    window: Window
    """The window now in force, cure added up over all the airs that the part saw."""


@dataclass(frozen=True, kw_only=True)
class DayFigureFound(Event):
    """A clean trial after a wet one: the day's window is known."""

    window: Window
    """For a panel that is begun in the present air."""
    low_s: float
    """Lower end of the interval of the best time, seconds after covered."""
    high_s: float
    """Its upper end."""


@dataclass(frozen=True, kw_only=True)
class Levelled(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""


@dataclass(frozen=True, kw_only=True)
class Buffed(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""


@dataclass(frozen=True, kw_only=True)
class TimeExtended(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty."""
    extra_s: float
    """Seconds added to the best and latest instants."""


@dataclass(frozen=True, kw_only=True)
class NothingToTryRefusal(Saying):
    """Nothing is covered that a trial wipe could be made on."""

    panel: str
    """Panel id; empty when none was named."""


@dataclass(frozen=True, kw_only=True)
class WhichPanelQuestion(Saying):
    """Two parts could be meant."""

    parts: tuple[str, str]
    """Keys of both, the one due first first."""


@dataclass(frozen=True, kw_only=True)
class TrialWetReply(Saying):
    """Too early, and when to try again."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    again_in_s: float
    """Seconds until another trial."""


@dataclass(frozen=True, kw_only=True)
class TrialCleanReply(Saying, urgency=Urgency.DUE):
    """It came clean: the panel is ready."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    covered_for_s: float
    """Seconds since the last stroke."""


@dataclass(frozen=True, kw_only=True)
class TrialGrabbingReply(Saying, urgency=Urgency.URGENT):
    """It grabs: the panel is closing."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""


@dataclass(frozen=True, kw_only=True)
class DayFigureReply(Saying):
    """Today's window, found by trial."""

    earliest_s: float
    """Not before, seconds after covered."""
    best_s: float
    """Aim for, seconds after covered."""


@dataclass(frozen=True, kw_only=True)
class TrialsDisagreeReply(Saying):
    """The trials of the day contradict each other."""


@dataclass(frozen=True, kw_only=True)
class NotCoveredRefusal(Saying):
    """There is no product on the panel."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class LevelledReply(Saying):
    """The product is off the panel."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""


@dataclass(frozen=True, kw_only=True)
class BuffedReply(Saying):
    """The panel is buffed."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""


@dataclass(frozen=True, kw_only=True)
class MoreTimeReply(Saying, always_said=True):
    """The panel gets longer."""

    panel: str
    """Panel id."""
    extra_s: float
    """Seconds added."""
