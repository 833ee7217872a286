"""The ear's two halves in this process, on a clock that is moved by hand: for rehearsals and tests.

They take and give the messages of hear.ear_process, and do the same work with the same parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any, Protocol

from bayhelper.hear.capture.caught import LineSpan
from bayhelper.hear.capture.endpoint import RATE_HZ
from bayhelper.hear.capture.listening import MakePointer, plain_pointer
from bayhelper.hear.capture.microphone import Heard, MicrophoneState
from bayhelper.hear.capture.played_sound import PlayedSound
from bayhelper.hear.capture.room import Room
from bayhelper.hear.ear_process import (
    BEAT_S,
    Beat,
    EarReport,
    End,
    HearingReply,
    HearingRequest,
    Parts,
    Prepare,
    Ready,
    read_one,
)

BLOCK = RATE_HZ // 10
"""Samples that are listened to at a time, as a device would deliver them (a tenth of a second)."""


class EarClock(Protocol):
    """What they ask of the clock."""

    def now_utc(self) -> datetime:
        """Wall-clock time, aware, UTC."""
        ...

    def steady_s(self) -> float:
        """Seconds since some instant, which nobody sets."""
        ...


class ListeningHere:
    """Cuts played sound into utterances, as the process that listens does with a microphone's."""

    def __init__(
        self, air: PlayedSound, clock: EarClock, make_pointer: MakePointer = plain_pointer
    ) -> None:
        self._air = air
        self._clock = clock
        self._room = Room((), make_pointer)
        self._at = round(clock.steady_s() * RATE_HZ)
        self._beat_s = clock.steady_s()
        self._alive = True
        self._dead = False
        self._news: list[EarReport] = [Ready()]

    def fileno(self) -> int:
        """There is no file to wait for."""
        return -1

    def next_utc(self) -> datetime:
        """When the next block is full."""
        left_s = (self._at + BLOCK) / RATE_HZ - self._clock.steady_s()
        soon_s = 0.0 if self._news or self._dead else left_s
        return self._clock.now_utc() + timedelta(seconds=soon_s)

    def receive(self) -> Sequence[EarReport]:
        """What was found in the sound up to now; raises EOFError after `die`."""
        if self._dead:
            raise EOFError
        found, self._news = self._news, []
        if self._air.alive != self._alive:
            self._alive = self._air.alive
            text = "It delivers." if self._alive else "It delivers nothing."
            found.append(MicrophoneState("", self._alive, text))
        while (self._at + BLOCK) / RATE_HZ <= self._clock.steady_s() + 1e-6:
            pcm = self._air.read(self._at, BLOCK)
            self._at += BLOCK
            end_s = self._at / RATE_HZ
            if self._alive:
                found += self._room.feed(Heard(0, pcm, end_s))
            if end_s - self._beat_s >= BEAT_S:
                self._beat_s = end_s
                found.append(Beat(self._room.floor_db, 0, 0, self._room.blind))
        return found

    def send(self, message: object) -> bool:
        if isinstance(message, LineSpan):
            self._room.sounding(message)
        elif isinstance(message, End):
            self._room.end(message.pause)
        return not self._dead

    def die(self) -> None:
        """End as a process does that is killed."""
        self._dead = True

    def close(self) -> None:
        """Nothing is held that would have to be let go of."""


class DecodingHere:
    """Reads with the parts of the process that decodes, a while after it was asked."""

    def __init__(self, parts: Parts[Any], clock: EarClock, takes_s: float) -> None:
        """`takes_s` is how long each reading takes; infinite where it hangs."""
        self._parts = parts
        self._clock = clock
        self._takes_s = takes_s
        self._dead = False
        self._asked: HearingRequest[Any] | None = None
        self._asked_s = 0.0
        self._news: list[EarReport] = [Ready()]
        self.prepared: list[Any] = []
        """The scopes that it was told to get ready for."""

    def fileno(self) -> int:
        """There is no file to wait for."""
        return -1

    def next_utc(self) -> datetime | None:
        """When the reading will be done; None while it does none, or hangs."""
        if self._news or self._dead:
            return self._clock.now_utc()
        left_s = self._asked_s + self._takes_s - self._clock.steady_s()
        if self._asked is None or left_s == float("inf"):
            return None
        return self._clock.now_utc() + timedelta(seconds=max(0.0, left_s))

    def receive(self) -> Sequence[EarReport]:
        """What was read; raises EOFError after `die`."""
        if self._dead:
            raise EOFError
        found, self._news = self._news, []
        asked = self._asked
        if asked is not None and self._clock.steady_s() >= self._asked_s + self._takes_s - 1e-6:
            self._asked = None
            listened: HearingReply = read_one(self._parts, asked)
            found.append(listened)
        return found

    def send(self, message: object) -> bool:
        if isinstance(message, HearingRequest):
            self._asked, self._asked_s = message, self._clock.steady_s()
        elif isinstance(message, Prepare):
            self.prepared.append(message.scope)
        return not self._dead

    def die(self) -> None:
        """End as a process does that is killed."""
        self._dead = True

    def close(self) -> None:
        """Nothing is held that would have to be let go of."""
