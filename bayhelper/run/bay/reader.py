"""Who reads what was caught: here and at once, or in a process of its own."""

from __future__ import annotations

import threading
from typing import Protocol

from bayhelper.hear.capture.caught import LineSpan
from bayhelper.hear.ear_process import HearingReply, HearingRequest, Parts, read_one
from bayhelper.terms.scope import Scope


class Reader(Protocol):
    """What a conversation asks of the ear."""

    @property
    def ready(self) -> bool:
        """Whether it can read now."""
        ...

    def read(self, listen: HearingRequest[Scope]) -> HearingReply | None:
        """What was understood, if that comes at once; else it arrives by a door of the loop."""
        ...

    def prepare(self, scope: Scope) -> None:
        """What may be said next, while there is time to get ready for it."""
        ...

    def sounding(self, span: LineSpan) -> None:
        """One of our own lines begins, or has ended."""
        ...

    def end(self, pause: int) -> None:
        """What was said up to that pause is whole."""
        ...

    def restart(self, why: str) -> None:
        """It reads no more; begin anew."""
        ...


class ReadsHere:
    """Reads in this process, while everything else waits: for recordings and typed lines."""

    ready = True

    def __init__(self, parts: Parts[Scope]) -> None:
        self._parts = parts
        self._busy = threading.Lock()  # raw sound is asked about from its own thread

    def read(self, listen: HearingRequest[Scope]) -> HearingReply:
        with self._busy:
            return read_one(self._parts, listen)

    def prepare(self, scope: Scope) -> None:
        """Nobody waits for what is prepared when it is asked for."""

    def sounding(self, span: LineSpan) -> None:
        """By these doors nobody hears us."""

    def end(self, pause: int) -> None:
        """Pauses are asked about, see Conversation.is_whole."""

    def restart(self, why: str) -> None:
        """It reads while everything waits, so that it cannot hang unnoticed."""
