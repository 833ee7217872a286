"""What a loudspeaker tells of the lines that it was given, and of itself."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Began:
    """A line is heard from now on."""

    number: int
    """Which line."""
    at_s: float
    """When its first sample reaches the loudspeaker, steady seconds."""
    text: str
    """Its words."""


@dataclass(frozen=True)
class Ended:
    """A line is over."""

    number: int
    """Which line."""
    at_s: float
    """When its last sample reaches the loudspeaker, steady seconds."""
    whole: bool
    """False when it was cut off, or never begun."""
    again: bool = False
    """Whether it will be begun again."""


@dataclass(frozen=True)
class SpeakerState:
    """The loudspeaker was lost, or is there again."""

    alive: bool
    """Whether it plays."""
    text: str
    """What happened, for people."""


@dataclass(frozen=True)
class VoiceFailed:
    """A sentence could not be rendered."""

    text: str
    """Why, for people."""


SpeakerReport = Began | Ended | SpeakerState | VoiceFailed
"""Whatever a Speaker tells."""
