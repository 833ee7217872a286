"""Panel wipe and lay-down: on with the product: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass

from bayhelper.terms.choices import LapAct
from bayhelper.terms.fact import Event, Window
from bayhelper.terms.product import Surface
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class PanelPrepped(Event):
    panel: str
    """Panel id."""
    fresh_s: float
    """How long it counts as fresh, seconds."""


@dataclass(frozen=True, kw_only=True)
class PrepWentStale(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class PanelTouched(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class LayDownStarted(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty for the whole panel."""
    layer: int = 1
    """Which layer, from 1."""
    window: Window
    """The window in force for it."""
    usual_s: float
    """The person's usual lay-down time for it, seconds."""
    assumed: bool = False
    """Whether the instant was worked out from 'covered' and the usual lay-down time."""
    insisted: bool = False
    """Whether a warning was overruled."""
    included_in: str = ""
    """Panel in whose lay-down this small part was done first; empty for its own."""


@dataclass(frozen=True, kw_only=True)
class Covered(Event):
    panel: str
    """Panel id."""
    half: str = ""
    """Half, or empty for the whole panel."""
    layer: int = 1
    """Which layer, from 1."""
    assumed: bool = False
    """Whether the instant was worked out from 'started' and the usual lay-down time."""


@dataclass(frozen=True, kw_only=True)
class SeamLapped(Event):
    seam: str
    """Seam id."""
    panel: str
    """Panel from which it was lapped."""
    act: LapAct
    """On the way on, or on the way off."""
    layer: int = 1
    """Which layer, from 1."""


@dataclass(frozen=True, kw_only=True)
class LayerStarted(Event):
    layer: int
    """Which layer, from 1."""


@dataclass(frozen=True, kw_only=True)
class PreppedReply(Saying):
    """The panel has had its panel wipe."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class TouchedReply(Saying):
    """The panel needs its panel wipe again."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class PrepStaleGuardRefusal(Saying):
    """The panel wipe is too old for product to go on."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class NotPreppedGuard(Saying):
    """The panel has had no panel wipe."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class LeavingBareGuard(Saying):
    """A panel is being left with bare seams."""

    panel: str
    """Panel id."""
    neighbours: tuple[str, ...]
    """Panels across them."""


@dataclass(frozen=True, kw_only=True)
class RecoatEarlyGuard(Saying):
    """The layer below has not set for long enough."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    off_s: float
    """Seconds until the next layer may go on."""


@dataclass(frozen=True, kw_only=True)
class RecoatLateGuard(Saying):
    """The layer below has set for too long."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""


@dataclass(frozen=True, kw_only=True)
class NotForItGuard(Saying):
    """The sheet does not name this surface."""

    panel: str
    """Panel id."""
    surface: Surface
    """What the panel is finished with."""


@dataclass(frozen=True, kw_only=True)
class WouldSweatGuard(Saying):
    """The panel is near the dew point."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class SurfaceTempGuard(Saying):
    """The panel is outside the sheet's range."""

    panel: str
    """Panel id."""
    hot: bool
    """Too hot, or else too cold."""


@dataclass(frozen=True, kw_only=True)
class NoCoatingSheetRefusal(Saying):
    """The plan names no coating that sets."""


@dataclass(frozen=True, kw_only=True)
class LayingReply(Saying):
    """The first stroke of product is on."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""


@dataclass(frozen=True, kw_only=True)
class CoveredReply(Saying):
    """Product is on, and when to wipe it off."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    wipe_in_s: float
    """Seconds until it is to be wiped off."""
    all_round: bool
    """Whether every seam of it was reported as lapped."""


@dataclass(frozen=True, kw_only=True)
class ClashReply(Saying):
    """Another part comes due while this one is laid."""

    part: str
    """Key of the part, such as 'bonnet/left'."""


@dataclass(frozen=True, kw_only=True)
class LappedAllReply(Saying):
    """Every seam of the panel is lapped, but for one."""

    panel: str
    """Panel id."""
    neighbour: str
    """Panel across the seam that is spared; empty for none."""


@dataclass(frozen=True, kw_only=True)
class LappedReply(Saying):
    """One seam is lapped."""

    panel: str
    """Panel id."""
    neighbour: str
    """Panel across the seam."""


@dataclass(frozen=True, kw_only=True)
class NoSeamRefusal(Saying):
    """These two panels do not meet."""

    panel: str
    """Panel id."""
    neighbour: str
    """Panel across the seam."""


@dataclass(frozen=True, kw_only=True)
class NoSuchLayerRefusal(Saying):
    """The plan has no such layer."""

    layers: int
    """How many it has."""


@dataclass(frozen=True, kw_only=True)
class LayerOpenQuestion(Saying):
    """Whether to begin the next layer all the same: panels are open."""

    parts: tuple[str, ...]
    """Keys of the parts, such as 'bonnet/left'."""


@dataclass(frozen=True, kw_only=True)
class LayerReply(Saying, always_said=True):
    """The next layer has begun."""

    layer: int
    """Which layer, from 1."""
