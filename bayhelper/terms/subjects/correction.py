"""Machine correction: panels, pads, residue: what can happen, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayhelper.terms.choices import Flag
from bayhelper.terms.fact import Event
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class PanelStarted(Event):
    panel: str
    """Panel id."""
    insisted: bool = False
    """Whether a warning was overruled."""


@dataclass(frozen=True, kw_only=True)
class PanelFinished(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class PolishPutOn(Event):
    insisted: bool = False
    """Whether the pad was dirty and the person insisted."""


@dataclass(frozen=True, kw_only=True)
class SectionDone(Event):
    panel: str = ""
    """Panel id, empty when none was being machined."""


@dataclass(frozen=True, kw_only=True)
class PadCleaned(Event):
    assumed: bool = False
    """Whether nobody said so: the next section was done, and the habit set for the job is to
    clean the pad before it."""


@dataclass(frozen=True, kw_only=True)
class PadChanged(Event):
    pass


@dataclass(frozen=True, kw_only=True)
class ResidueLeft(Event):
    panel: str
    """Panel id."""
    wipe_s: float
    """To be wiped after at most this many seconds."""


@dataclass(frozen=True, kw_only=True)
class ResidueWiped(Event):
    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class GentlePanelGuard(Saying):
    """The machine does not belong on this surface."""

    panel: str
    """Panel id."""
    flag: Literal[Flag, ""]
    """What was told about its surface; empty for nothing."""


@dataclass(frozen=True, kw_only=True)
class MachiningReply(Saying):
    """The machine is on the panel."""

    panel: str
    """Panel id."""
    flag: Literal[Flag, ""]
    """What was told about its surface; empty for nothing."""


@dataclass(frozen=True, kw_only=True)
class NotMachiningRefusal(Saying):
    """That panel is not under the machine."""

    panel: str
    """Panel id; empty when none was named."""


@dataclass(frozen=True, kw_only=True)
class MachinedReply(Saying):
    """Machining of the panel is done."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class DirtyPadGuard(Saying):
    """Fresh polish would go on a dirty pad."""


@dataclass(frozen=True, kw_only=True)
class PadCleanedReply(Saying):
    """The pad is clean."""


@dataclass(frozen=True, kw_only=True)
class PadChangedReply(Saying):
    """Another pad is on."""


@dataclass(frozen=True, kw_only=True)
class ResidueLeftReply(Saying):
    """Residue waits on the panel."""

    panel: str
    """Panel id."""
    wipe_in_s: float
    """Seconds until it is to be wiped off."""


@dataclass(frozen=True, kw_only=True)
class NoResidueRefusal(Saying):
    """No residue was noted there."""

    panel: str
    """Panel id."""


@dataclass(frozen=True, kw_only=True)
class ResidueWipedReply(Saying):
    """The residue is off."""

    panel: str
    """Panel id."""
