"""What a door of the bay's loop is: it brings things, and decides nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

from bayhelper.hear.capture.caught import Caught, Pause
from bayhelper.hear.capture.microphone import MicrophoneState
from bayhelper.hear.ear_process import Beat, HearingReply
from bayhelper.speak.speaker_reports import SpeakerReport
from bayhelper.terms.utterance import Utterance

HalfName = Literal["listening", "decoding"]
"""The ear's two halves."""


@dataclass(frozen=True)
class HalfReady:
    """A half of the ear can do its work now."""

    half: HalfName
    """Which one."""


@dataclass(frozen=True)
class HalfEnded:
    """A half of the ear is gone, or of no use any more."""

    half: HalfName
    """Which one."""
    why: str
    """For people."""


@dataclass(frozen=True)
class Pressed:
    """The button was pressed."""


Arrival = (
    Caught
    | Pause
    | HearingReply
    | Beat
    | MicrophoneState
    | HalfReady
    | HalfEnded
    | SpeakerReport
    | Pressed
)
"""Whatever may come in by a door."""


class Door(Protocol):
    """A door: a file to wait for, or instants of a clock that is moved by hand, or both."""

    @property
    def over(self) -> bool:
        """Whether nothing will come any more."""
        return False

    def fileno(self) -> int:
        """A descriptor that is readable while something waits; -1 while there is none."""
        return -1

    def next_utc(self) -> datetime | None:
        """When the next thing comes, on a clock moved by hand; None while that is not known."""
        return None

    def take(self) -> Sequence[Arrival]:
        """What has come, in order; nothing when it was a false alarm."""
        ...


class Attendant(Protocol):
    """A part of the bay that is told all that comes, and deals with what is its own."""

    def handle(self, thing: Arrival) -> None:
        """Something came in by one of the doors."""
        ...

    def look_after(self) -> None:
        """Everything that came was dealt with; time may have passed as well."""
        ...


def caught_now(utterance: Utterance, at_s: float) -> Caught:
    """What came by a door that tells no times: as if it were said at that instant."""
    return Caught(utterance, at_s, at_s, at_s)
