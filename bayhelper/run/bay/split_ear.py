"""The ear in two halves that may fail: looked after, and started again."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Protocol

from bayhelper.hear.capture.caught import LineSpan
from bayhelper.hear.child import Child
from bayhelper.hear.ear_process import (
    Beat,
    Broken,
    EarReport,
    End,
    HearingReply,
    HearingRequest,
    Prepare,
    Ready,
)
from bayhelper.run.bay.door import Arrival, Door, HalfEnded, HalfName, HalfReady
from bayhelper.run.bay.outages import Outages
from bayhelper.run.clock import BayClock
from bayhelper.terms.closing import Closing
from bayhelper.terms.scope import Scope

NO_BEAT_S = 10.0
"""A process that listens and gives no sign for so long is of no use: it beats once a second."""
RESTART_S = 1.0
"""So long after a half ended another is started, or one that cannot start would be started without
a pause (chosen)."""


class Half(Protocol):
    """One half of the ear, wherever it runs; messages and reports as in hear.ear_process."""

    def fileno(self) -> int:
        """As of a Door."""
        ...

    def next_utc(self) -> datetime | None:
        """As of a Door."""
        ...

    def receive(self) -> Sequence[EarReport]:
        """What it reports; raises EOFError or OSError once it is gone."""
        ...

    def send(self, message: object) -> bool:
        """Hand a message over; False when it is gone."""
        ...

    def close(self) -> None:
        """End it, and wait until it has ended."""
        ...


class ProcessHalf:
    """A half in a process of its own."""

    def __init__(self, child: Child) -> None:
        self._child = child

    @property
    def pid(self) -> int:
        """Process id, for whoever measures its memory."""
        return self._child.pid

    def fileno(self) -> int:
        return self._child.pipe.fileno()

    def next_utc(self) -> datetime | None:
        """Nobody knows when a process will report."""
        return None

    def receive(self) -> Sequence[EarReport]:
        """See Half; one a turn of the loop."""
        return (self._child.pipe.recv(),)

    def send(self, message: object) -> bool:
        return self._child.send(message)

    def close(self) -> None:
        self._child.close()


class _HalfDoor(Door):
    """What one half reports; while there is none, nothing comes."""

    def __init__(self, name: HalfName, halves: Mapping[HalfName, Half]) -> None:
        self._name = name
        self._halves = halves

    def fileno(self) -> int:
        half = self._halves.get(self._name)
        return half.fileno() if half else -1

    def next_utc(self) -> datetime | None:
        half = self._halves.get(self._name)
        return half.next_utc() if half else None

    def take(self) -> Sequence[Arrival]:
        half = self._halves.get(self._name)
        if half is None:
            return ()
        try:
            return [self._arrival(report) for report in half.receive()]
        except (EOFError, OSError):
            return (HalfEnded(self._name, f"The process for {self._name} ended."),)

    def _arrival(self, report: EarReport) -> Arrival:
        if isinstance(report, Broken):
            return HalfEnded(self._name, report.text)
        if isinstance(report, Ready):
            return HalfReady(self._name)
        return report


class SplitEar(Closing):
    """A Reader, and a Attendant to its own halves."""

    def __init__(
        self, make: Mapping[HalfName, Callable[[], Half]], outages: Outages, clock: BayClock
    ) -> None:
        """Starts both halves; `close` ends them."""
        self._make = make
        self._outages = outages
        self._clock = clock
        self._halves: dict[HalfName, Half] = {}
        self._restart_s: dict[HalfName, float] = {}
        self._lost: set[HalfName] = set()
        self._decodes = False
        self._beat_s = clock.steady_s()
        self.sources = [_HalfDoor(name, self._halves) for name in make]
        """What they report, as doors of the loop."""
        for name in make:
            self._start(name)

    def close(self) -> None:
        """End both halves, and wait until they have ended."""
        for half in self._halves.values():
            half.close()

    @property
    def ready(self) -> bool:
        return self._decodes

    @property
    def halves(self) -> Mapping[HalfName, Half]:
        """Those that run now, by name."""
        return self._halves

    def read(self, listen: HearingRequest[Scope]) -> HearingReply | None:
        self._send("decoding", listen)
        return None

    def prepare(self, scope: Scope) -> None:
        self._send("decoding", Prepare(scope))

    def sounding(self, span: LineSpan) -> None:
        self._send("listening", span)

    def end(self, pause: int) -> None:
        self._send("listening", End(pause))

    def restart(self, why: str) -> None:
        self._stop("decoding", why)

    def handle(self, thing: Arrival) -> None:
        if isinstance(thing, HalfEnded):
            self._stop(thing.half, thing.why)
        elif isinstance(thing, HalfReady) and thing.half == "decoding":
            self._decodes = True
            self._lost.discard("decoding")
        elif isinstance(thing, Beat):
            self._beat_s = self._clock.steady_s()
            self._lost.discard("listening")

    def look_after(self) -> None:
        """See Attendant: start again what ended, and end what gives no sign of life."""
        now_s = self._clock.steady_s()
        for name, at_s in list(self._restart_s.items()):
            if now_s >= at_s:
                del self._restart_s[name]
                self._start(name)
        if "listening" in self._halves and now_s - self._beat_s > NO_BEAT_S:
            self._stop("listening", "The process that listens gave no sign of life.")

    def _start(self, name: HalfName) -> None:
        self._halves[name] = self._make[name]()
        self._beat_s = self._clock.steady_s() + NO_BEAT_S

    def _stop(self, name: HalfName, why: str) -> None:
        """It is gone, or of no use any more: say so, and start another one soon."""
        half = self._halves.pop(name, None)
        if half is None:
            return
        half.close()
        if name == "decoding":
            self._decodes = False
        self._restart_s[name] = self._clock.steady_s() + RESTART_S
        if name not in self._lost:
            self._lost.add(name)
            self._outages.tell("ear", False, "ear_lost", why)

    def _send(self, name: HalfName, message: object) -> None:
        if half := self._halves.get(name):
            half.send(message)
