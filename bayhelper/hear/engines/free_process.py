"""The competing free reading in a process of its own, beside the one under the grammar."""

from __future__ import annotations

import signal
from collections.abc import Callable
from multiprocessing.connection import Connection

from bayhelper.hear.child import Child
from bayhelper.terms.closing import Closing
from bayhelper.terms.ports import Engine
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode


class FreeProcess(Closing):
    """Satisfies hear.accept.FreeReader: reads freely while this process reads under a grammar."""

    def __init__(
        self, make: Callable[[], Engine], spare: Engine, stopwatch: Callable[[], float]
    ) -> None:
        """Start a process that makes an engine of its own.

        `make` and `stopwatch` (processor seconds) have to be importable by name there. `spare`
        reads in this process once the other one is gone.
        """
        self._child = Child(_serve, make, stopwatch, daemon=True)
        self._spare = spare
        self._stopwatch = stopwatch

    def close(self) -> None:
        """End the process; what is still being read there is lost."""
        self._child.close()

    def begin(self, sound: Sound) -> Callable[[], tuple[Decode, float]]:
        """Start to read; the result waits for the reading and gives its processor seconds too."""
        if not self._child.send(sound):
            return lambda: self._read_here(sound)
        return lambda: self._receive(sound)

    def _receive(self, sound: Sound) -> tuple[Decode, float]:
        try:
            decode, compute_s = self._child.pipe.recv()
        except (EOFError, OSError):
            return self._read_here(sound)
        return decode, compute_s

    def _read_here(self, sound: Sound) -> tuple[Decode, float]:
        return timed_reading(self._spare, sound, self._stopwatch)


def timed_reading(
    engine: Engine, sound: Sound, stopwatch: Callable[[], float]
) -> tuple[Decode, float]:
    """Read freely, and give the processor seconds that it took."""
    began = stopwatch()
    decode = engine.listen_freely(sound)
    return decode, stopwatch() - began


def _serve(pipe: Connection, make: Callable[[], Engine], stopwatch: Callable[[], float]) -> None:
    """Read what comes until the other side closes or dies; Ctrl-C is for the other side."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    engine = make()
    try:
        while True:
            pipe.send(timed_reading(engine, pipe.recv(), stopwatch))
    except (EOFError, OSError):
        engine.close()
