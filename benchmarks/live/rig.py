"""A bay at work in this process, with a microphone that the measurement speaks into."""

from __future__ import annotations

import os
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from bayhelper.hear.capture.recording import read_sound
from bayhelper.hear.typed import read_typed
from bayhelper.run.bay.live_session import LiveSession, open_live
from bayhelper.run.bay.split_ear import ProcessHalf
from bayhelper.run.clock import steady_s
from bayhelper.run.parts import build_library
from bayhelper.run.settings import Settings
from bayhelper.speak.speaker_reports import Began, Ended
from bayhelper.terms.ports import Offer
from bayhelper.terms.saying import Called, DueAlert, Saying, Urgency
from bayhelper.terms.subjects.wiping import LevelledReply
from bayhelper.terms.utterance import Utterance
from bayhelper.understand.offer import plain_words
from tests.run.virtual_bay import VirtualBay, virtual_bay

RATE_HZ = 16_000
"""Of the microphone."""
STEP = 160
"""Samples that are written into the microphone at a time."""
SPEECH_RMS = 0.08
"""Of full scale, of a voice at the microphone: chosen, 22 dB below it."""


def measured(manner: str) -> Saying:
    """A sentence that counts as an alert, or as a reply."""
    if manner != "alert":
        return LevelledReply(panel="roof", half="")
    called = Called("wipe_now", "roof", 0.0, 60.0, Urgency.DUE, "")
    return DueAlert(called=(called,), neighbours=(), reason="")


class MicFeed:
    """Plays into the microphone without a pause, so that a sound begins when it is meant to."""

    def __init__(self, bay: VirtualBay) -> None:
        self._process = subprocess.Popen(
            ["pacat", "--playback", "--raw", "--format=float32le", f"--rate={RATE_HZ}",
             "--channels=1", "--latency-msec=30", "--device=bay_mic"],
            env=os.environ | bay.environment,
            stdin=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self._sounds: list[tuple[float, np.ndarray]] = []
        self._lock = threading.Lock()
        self._stop = False
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def play(self, samples: np.ndarray, at_s: float) -> float:
        """Let the first loud sample be heard then; gives when the last loud one is."""
        loud = np.flatnonzero(np.abs(samples) > 0.03 * np.abs(samples).max())
        with self._lock:
            self._sounds.append((at_s - loud[0] / RATE_HZ, samples))
        return at_s + float(loud[-1] - loud[0]) / RATE_HZ

    def close(self) -> None:
        self._stop = True
        self._thread.join(2)
        self._process.terminate()
        self._process.wait(5)

    def _run(self) -> None:
        pipe = self._process.stdin
        if pipe is None:
            return
        began_s, written = steady_s(), 0
        while not self._stop:
            now_s = began_s + written / RATE_HZ
            block = np.zeros(STEP, np.float32)
            with self._lock:
                for at_s, samples in self._sounds:
                    offset = round((now_s - at_s) * RATE_HZ)
                    part = samples[max(0, offset) : max(0, offset + STEP)]
                    start = max(0, -offset)
                    block[start : start + len(part)] += part[: STEP - start]
                self._sounds = [
                    (at_s, x) for at_s, x in self._sounds if at_s + len(x) / RATE_HZ > now_s
                ]
            try:
                pipe.write(block.tobytes())
                pipe.flush()
            except OSError:
                return
            written += STEP
            ahead_s = began_s + written / RATE_HZ - steady_s()
            time.sleep(max(0.0, ahead_s))


def speech(file: Path) -> np.ndarray:
    """A recording at the level that a person's voice has at the microphone."""
    samples = np.frombuffer(read_sound(file).pcm, "<i2").astype(np.float32) / 32768
    loud = samples[np.abs(samples) > 0.05 * np.abs(samples).max()]
    return np.asarray(samples * (SPEECH_RMS / float(np.sqrt(np.mean(loud**2)))), np.float32)


class Rig:
    """A bay at work in this process, whose loop is turned by the measurement."""

    def __init__(self, bay: VirtualBay, live: LiveSession) -> None:
        self.bay, self.live = bay, live
        self._library = build_library()
        self.feed = MicFeed(bay)
        self.reports: list[Began | Ended] = []
        self.acts: list[tuple[float, Any, str]] = []
        self.heard: list[tuple[str, str, Any]] = []
        self.parts: list[tuple[float, str, bool]] = []
        self._hook()

    def _hook(self) -> None:
        live = self.live
        handle, act, again = live.mouth.handle, live.bay.act_on, live.bay.ask_again
        told, heard = live.timeline.part, live.timeline.heard

        def handled(report: Any) -> None:
            if isinstance(report, Began | Ended):
                self.reports.append(report)
            handle(report)

        def acted(hearing: Any, at_utc: Any) -> None:
            act(hearing, at_utc)
            self.acts.append((steady_s(), hearing, "act"))

        def asked(hearing: Any, at_utc: Any) -> None:
            again(hearing, at_utc)
            self.acts.append((steady_s(), hearing, "again"))

        def listened(at_utc: Any, hearing: Any) -> None:
            heard(at_utc, hearing)
            self.heard.append((hearing.text, hearing.why, hearing.evidence))

        def parted(at_utc: datetime, part: str, alive: bool, text: str) -> None:
            told(at_utc, part, alive, text)
            self.parts.append((steady_s(), part, alive))

        live.mouth.handle = handled  # type: ignore[method-assign]
        live.bay.act_on = acted  # type: ignore[method-assign]
        live.bay.ask_again = asked  # type: ignore[method-assign]
        live.timeline.part = parted  # type: ignore[method-assign]
        live.timeline.heard = listened  # type: ignore[method-assign]

    def run(self, seconds: float, until: Callable[[], bool] | None = None) -> bool:
        """Turn the loop for so long, or until something holds."""
        end_s = steady_s() + seconds
        while steady_s() < end_s:
            self.live.loop.turn()
            if until is not None and until():
                return True
        return False

    def typed(self, line: str) -> None:
        live = self.live
        hearing = read_typed(Utterance(None, 0, 0, "typed", typed=line), self.offer(), plain_words)
        live.bay.act_on(hearing, live.clock.now_utc())

    def offer(self) -> Offer:
        """What may be said now."""
        return self._library.offer(self.live.bay.scope())

    @property
    def pids(self) -> dict[str, int]:
        """Process ids of the ear's two halves."""
        halves = self.live.ear.halves.items()
        return {name: half.pid for name, half in halves if isinstance(half, ProcessHalf)}

    def quiet(self) -> None:
        """Wait until nothing is said, read or waiting."""
        live = self.live

        def silent() -> bool:
            ended = {r.number for r in self.reports if isinstance(r, Ended) and not r.again}
            return live.mouth._count in ended | {0} and live.conversation.idle

        self.run(30, silent)
        self.run(1.3)
        self.run(10, silent)

    def say(self, text: str, kind: str = "reply") -> tuple[float, float]:
        """Speak a prompt now and wait for its end; gives when it began and ended."""
        live = self.live
        say = measured(kind)
        live.mouth.say(live.clock.now_utc(), say, text)
        number = live.mouth._count
        self.run(15, lambda: any(isinstance(r, Ended) and r.number == number for r in self.reports))
        began = next(r.at_s for r in self.reports if isinstance(r, Began) and r.number == number)
        ended = next(r.at_s for r in self.reports if isinstance(r, Ended) and r.number == number)
        return began, ended

    def begin(self, text: str) -> float:
        """Speak a prompt, and come back as soon as it sounds; gives when that was."""
        live = self.live
        live.mouth.say(live.clock.now_utc(), measured("reply"), text)
        number = live.mouth._count
        self.run(15, lambda: any(isinstance(r, Began) and r.number == number for r in self.reports))
        return next(r.at_s for r in self.reports if isinstance(r, Began) and r.number == number)


@contextmanager
def rig(echo_db: float | None, **settings: Any) -> Iterator[Rig]:
    with TemporaryDirectory(prefix="live-") as folder:
        place = Path(folder)
        with virtual_bay(place / "pulse", echo_db) as bay:
            os.environ.update(bay.environment)
            data = place / "data"
            data.mkdir()
            chosen = Settings(plan="coat_only", **settings)
            with open_live(data, chosen, None, None) as live:
                one = Rig(bay, live)
                try:
                    one.run(30, lambda: live.ear.ready)
                    one.run(1.5)
                    yield one
                finally:
                    one.feed.close()
