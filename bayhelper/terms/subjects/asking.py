"""Answers to questions about the job: what is said, since nothing happens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayhelper.terms.choices import Stage
from bayhelper.terms.saying import Saying


@dataclass(frozen=True, kw_only=True)
class NoClockReply(Saying):
    """No clock runs there."""

    panel: str
    """Panel id; empty for any."""


@dataclass(frozen=True, kw_only=True)
class ElapsedReply(Saying):
    """How long a part has had."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    had_s: float
    """Seconds since covered, or since started while it is laid."""
    laying: bool
    """Whether it is still laid."""


@dataclass(frozen=True, kw_only=True)
class RemainingReply(Saying):
    """Time left on a part."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    best_in_s: float
    """Seconds until the best instant."""
    latest_in_s: float
    """Seconds until the latest; negative when overdue."""


@dataclass(frozen=True, kw_only=True)
class BareReply(Saying):
    """Seams that nobody lapped."""

    panel: str
    """Panel id; empty for the car."""
    seams: tuple[str, ...]
    """Ids of the seams, the one to begin with first."""


@dataclass(frozen=True, kw_only=True)
class UnwipedReply(Saying):
    """Seams that were laid over and not wiped."""

    panel: str
    """Panel id; empty for the car."""
    seams: tuple[str, ...]
    """Ids of the seams, the one to begin with first."""


@dataclass(frozen=True, kw_only=True)
class OpenReply(Saying):
    """Parts with product on them."""

    parts: tuple[str, ...]
    """Keys of the parts, such as 'bonnet/left'."""


@dataclass(frozen=True, kw_only=True)
class WhereReply(Saying):
    """How far the job is."""

    stage: str
    """Stage that is running."""
    done: int
    """Panels that have got through it."""
    total: int
    """Of so many; 0 where panels do not count."""
    layer: int
    """Which layer, from 1."""
    paused: bool
    """Whether working time stands still."""


@dataclass(frozen=True, kw_only=True)
class NextWipeReply(Saying):
    """An open part comes next."""

    panel: str
    """Panel id."""
    half: str
    """Half, or empty for the whole panel."""
    in_s: float
    """Seconds from now."""


@dataclass(frozen=True, kw_only=True)
class NextPanelReply(Saying):
    """A panel comes next in the stage."""

    panel: str
    """Panel id."""
    stage: str
    """Stage that is running."""


@dataclass(frozen=True, kw_only=True)
class NextRecoatReply(Saying):
    """A panel waits for the next layer."""

    panel: str
    """Panel id."""
    in_s: float
    """Seconds from now."""


@dataclass(frozen=True, kw_only=True)
class NextLayerReply(Saying):
    """The next layer comes next."""

    layer: int
    """Which layer, from 1."""


@dataclass(frozen=True, kw_only=True)
class NextStageReply(Saying):
    """The next stage comes next."""

    stage: Literal[Stage, ""]
    """Which one; empty after the last."""


@dataclass(frozen=True, kw_only=True)
class FitsReply(Saying):
    """When one more part may be laid."""

    part: str
    """Key of the part, such as 'bonnet/left'."""
    in_s: float
    """Seconds from now."""
    first: str
    """Key of the part that comes due first; empty for none."""


@dataclass(frozen=True, kw_only=True)
class LevelFirstReply(Saying):
    """One more does not fit before this part is off."""

    part: str
    """Key of the part, such as 'bonnet/left'."""


@dataclass(frozen=True, kw_only=True)
class AllOffReply(Saying):
    """The order in which to wipe everything off."""

    parts: tuple[str, ...]
    """Keys of the parts, such as 'bonnet/left'."""


@dataclass(frozen=True, kw_only=True)
class AgainReply(Saying):
    """The last sentence once more."""

    text: str
    """The words."""
