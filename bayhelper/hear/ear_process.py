"""The ear outside the bay's own process: one process listens to microphones, another decodes.

They are two because the embedded engine keeps Python's lock while it reads, up to a second: a
callback in the same process would lose sound, and an alert in the same process would be late.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from typing import Any, Generic, TypeVar

from bayhelper.hear.capture.caught import Caught, LineSpan, Pause
from bayhelper.hear.capture.listening import MakePointer, plain_pointer
from bayhelper.hear.capture.microphone import Microphones, MicrophoneState, Wanted
from bayhelper.hear.capture.room import Room
from bayhelper.hear.patience import Judge, is_whole
from bayhelper.terms.errors import HearingError, SoundError
from bayhelper.terms.ports import Offer
from bayhelper.terms.utterance import Hearing, Utterance

BEAT_S = 1.0
"""How often the process that listens tells that it lives; our own choice."""
STUCK = 3
"""Exit code of a process that could not close a broken device; Python itself uses 0 to 2."""

ScopeT = TypeVar("ScopeT")


@dataclass(frozen=True)
class Beat:
    """A sign of life from the process that listens, once a second."""

    floor_db: float
    """Level of the noise, dB of full scale."""
    dropped: int
    """Blocks that were dropped since the start."""
    lost_by_device: int
    """How often a device said that it lost sound."""
    blind: bool
    """Whether noise hides every end of speech."""


@dataclass(frozen=True)
class Ready:
    """The process can do its work now."""


@dataclass(frozen=True)
class Broken:
    """The process ends, and why."""

    text: str
    """For people."""


@dataclass(frozen=True)
class Prepare(Generic[ScopeT]):
    """What may be said next, while there is time to get ready for it."""

    scope: ScopeT
    """As `offer_of` takes it."""


@dataclass(frozen=True)
class HearingRequest(Generic[ScopeT]):
    """An utterance to be read."""

    number: int
    """Comes back with the hearing."""
    utterance: Utterance
    """What was caught."""
    scope: ScopeT
    """What may be said now."""
    follow_on: bool
    """Whether no address is needed."""


@dataclass(frozen=True)
class HearingReply:
    """What came of it."""

    number: int
    """As in HearingRequest."""
    hearing: Hearing
    """With its utterance."""
    whole: bool
    """Whether it is a command that no longer one begins with, see hear.patience."""


@dataclass(frozen=True)
class End:
    """What was said up to a pause is whole."""

    pause: int
    """Its number."""


@dataclass(frozen=True)
class Parts(Generic[ScopeT]):
    """What the process that decodes is made of."""

    judge: Judge
    """The ear."""
    offer_of: Callable[[ScopeT], Offer]
    """What a scope allows to be said."""


def serve_decoding(
    pipe: Connection, make: Callable[[], AbstractContextManager[Parts[Any]]]
) -> None:
    """Read what comes until the other side closes or dies; Ctrl-C is for the other side."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with make() as parts:
            pipe.send(Ready())
            while True:
                message = pipe.recv()
                if isinstance(message, HearingRequest):
                    pipe.send(read_one(parts, message))
                elif isinstance(message, Prepare) and not pipe.poll():
                    parts.judge.prepare(parts.offer_of(message.scope))
    except HearingError as error:
        _last_words(pipe, str(error))
    except (EOFError, OSError):
        return


def read_one(parts: Parts[Any], request: HearingRequest[Any]) -> HearingReply:
    """Read one utterance under what may be said."""
    offer = parts.offer_of(request.scope)
    hearing = parts.judge.listen(request.utterance, offer, request.follow_on)
    return HearingReply(request.number, _signed(hearing), is_whole(hearing, offer))


def _signed(hearing: Hearing) -> Hearing:
    """A headset says who gave the command, unless the words did."""
    command, speaker = hearing.command, hearing.utterance.speaker
    if command is None or not speaker or "by" in command.slots:
        return hearing
    return replace(hearing, command=replace(command, slots={**command.slots, "by": speaker}))


def serve_listening(
    pipe: Connection,
    wanted: tuple[Wanted, ...],
    steady_s: Callable[[], float],
    make_pointer: MakePointer = plain_pointer,
) -> None:
    """Listen until the other side closes or dies; Ctrl-C is for the other side."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        microphones = Microphones(wanted, steady_s)
    except SoundError as error:
        _last_words(pipe, str(error))
        return
    try:
        _listen(pipe, microphones, Room(wanted, make_pointer), steady_s)
    except (HearingError, SoundError) as error:
        _last_words(pipe, str(error))
        os._exit(STUCK)  # PortAudio would wait for the broken device at a proper end
    except (EOFError, OSError):
        microphones.close()


def _listen(
    pipe: Connection, microphones: Microphones, room: Room, steady_s: Callable[[], float]
) -> None:
    pipe.send(Ready())
    beat_s = 0.0
    while True:
        while pipe.poll():
            message = pipe.recv()
            if isinstance(message, LineSpan):
                room.sounding(message)
            elif isinstance(message, End):
                room.end(message.pause)
        heard = microphones.read(0.1)
        if heard is not None:
            for found in room.feed(heard):
                pipe.send(found)
        now_s = steady_s()
        if now_s - beat_s >= BEAT_S or heard is None:
            for state in microphones.poll():
                pipe.send(state)
        if now_s - beat_s >= BEAT_S:
            beat_s = now_s
            pipe.send(
                Beat(room.floor_db, microphones.dropped, microphones.lost_by_device, room.blind)
            )


def _last_words(pipe: Connection, text: str) -> None:
    try:
        pipe.send(Broken(text))
    except OSError:
        return


EarReport = Ready | Broken | Beat | Caught | Pause | MicrophoneState | HearingReply
"""Whatever may come through the pipes."""
