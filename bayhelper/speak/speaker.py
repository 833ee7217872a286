"""The loudspeaker through PortAudio: one thread, lines by urgency, and a device that comes back."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from concurrent.futures import TimeoutError as NotYet
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from bayhelper.speak.player import faded, float_samples
from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import SpeechError
from bayhelper.terms.sound import Sound

OPENING_S = 5.0
DEAD_S = 3.0
"""A stream that asks for nothing for so long is taken for dead."""
BACK_OFF_S = (0.5, 1.0, 2.0, 4.0, 5.0)
KEPT_S = 6.0
"""A line that could not be begun for so long is dropped: the next alert knows better."""
INTERRUPTS = 3
"""Lines of this urgency cut off a line that is less urgent; see terms.effects.Urgency."""
LATENCY_S = 0.06
"""What the device may hold ahead; with less, a busy machine tears holes into sounds."""
FADE_S = 0.01
LOOK_S = 0.01
LATEST_DAC_S = 0.5
"""A device that says it plays later than this does not know."""
NO_PORTAUDIO = (
    "PortAudio is absent, so there is no microphone or loudspeaker. "
    "Install it (Debian: apt install libportaudio2), or work with --typed."
)


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


Report = Began | Ended | SpeakerState | VoiceFailed
Part = Sound | Future[Sound]


@dataclass
class _Line:
    """What is to be heard in one go."""

    number: int
    parts: tuple[Part, ...]
    urgency: int
    text: str
    since_s: float
    begun_s: float = 0.0
    again: bool = False


@dataclass
class _Feed:
    """What the callback takes its samples from; it sets `done_s` with the last one."""

    samples: np.ndarray
    at: int = 0
    first_s: float = 0.0
    last_s: float = 0.0
    begun: threading.Event = field(default_factory=threading.Event)
    done: threading.Event = field(default_factory=threading.Event)


def load_portaudio() -> Any:
    """The sounddevice module. Raises SpeechError when PortAudio is absent."""
    try:
        import sounddevice  # noqa: PLC0415  needs PortAudio, which may be absent
    except (ImportError, OSError) as error:
        raise SpeechError(NO_PORTAUDIO) from error
    return sounddevice


class Speaker(Closing):
    """Plays lines one after the other; what happens to them is reported, from its own thread."""

    def __init__(
        self,
        report: Callable[[Report], None],
        steady_s: Callable[[], float],
        *,
        device: str = "",
        maximum: float = 1.0,
        library: Callable[[], Any] = load_portaudio,
    ) -> None:
        """`maximum`, 0 to 1, is the loudness that a person set by ear; nothing goes above it.

        Raises SpeechError when PortAudio is absent.
        """
        self._library = library()
        self._report = report
        self._steady_s = steady_s
        self._device = device
        self._maximum = min(1.0, max(0.0, maximum))
        self._gain = self._maximum
        self._lines: list[_Line] = []
        self._now: _Line | None = None
        self._cut = False
        self._feed: _Feed | None = None
        self._stream: Any = None
        self._rate_hz = 48_000
        self._asked_s = 0.0
        self._tries = 0
        self._next_try_s = 0.0
        self._told_lost = False
        self._closed = False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._run, name="speaker", daemon=True)

    def __enter__(self) -> Speaker:
        self._thread.start()
        return self

    def close(self) -> None:
        """Stop in mid-word and give the device back."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        if self._thread.ident is not None:
            self._thread.join(3.0)

    @property
    def gain(self) -> float:
        """Factor of the samples of the sounds to come."""
        return self._gain

    def set_gain(self, gain: float) -> None:
        """Loudness of the sounds to come, never above the maximum."""
        self._gain = min(self._maximum, max(0.0, gain))

    def say(self, number: int, parts: Sequence[Part], urgency: int, text: str = "") -> None:
        """Queue a line; parts that are still being rendered are waited for when it is their turn.

        `urgency` 0 is a reply, 1 to 3 as in terms.effects.Urgency. Returns at once.
        """
        line = _Line(number, tuple(parts), urgency, text, self._steady_s())
        with self._changed:
            self._lines.append(line)
            self._changed.notify_all()

    def hush(self, below: int = INTERRUPTS) -> None:
        """Cut off what is sounding, and drop what waits, if it is less urgent than `below`."""
        with self._changed:
            dropped = [line for line in self._lines if line.urgency < below]
            self._lines = [line for line in self._lines if line.urgency >= below]
            if self._now is not None and self._now.urgency < below:
                self._now.again, self._cut = True, True
            self._changed.notify_all()
        for line in dropped:
            self._report(Ended(line.number, self._steady_s(), whole=False))

    def _run(self) -> None:
        while True:
            with self._changed:
                if self._closed:
                    break
                if not self._lines:
                    self._changed.wait(0.1)
            self._keep_device()
            line = self._next()
            if line is not None:
                self._play(line)
        self._shut()

    def _next(self) -> _Line | None:
        """The most urgent line, the oldest of these; too old ones are dropped."""
        with self._changed:
            if not self._lines:
                return None
            line = max(self._lines, key=lambda one: (one.urgency, -one.since_s))
            old = self._steady_s() - line.since_s > KEPT_S
            if self._stream is None and not old:
                self._changed.wait(0.05)
                return None
            self._lines.remove(line)
            self._now, self._cut = line, False
        if self._stream is None:
            self._report(Ended(line.number, self._steady_s(), whole=False))
            self._now = None
            return None
        return line

    def _play(self, line: _Line) -> None:
        whole, ended_s = True, self._steady_s()
        for part in line.parts:
            sound = self._sound(part)
            if sound is None:
                whole = whole and not self._cut
                continue
            last_s = self._sound_out(line, sound)
            whole = whole and last_s > 0
            ended_s = last_s or self._steady_s()
            if not whole:
                break
        with self._changed:
            self._now = None
            again = not whole and not line.again and not self._closed
            if again:
                line.again = True
                self._lines.append(line)
        if line.begun_s or not again:
            self._report(Ended(line.number, ended_s, whole, again))
        line.begun_s = 0.0

    def _sound(self, part: Part) -> Sound | None:
        """The part once it is rendered; None when that failed or the line was cut off."""
        if isinstance(part, Sound):
            return part
        while not self._interrupted():
            try:
                return part.result(timeout=LOOK_S)
            except NotYet:
                continue
            except SpeechError as error:
                self._report(VoiceFailed(str(error)))
                return None
        return None

    def _sound_out(self, line: _Line, sound: Sound) -> float:
        """Play to the end; gives when its last sample is heard, or 0 when it was cut off."""
        feed = _Feed(float_samples(sound, self._rate_hz, self._gain))
        self._feed = feed
        while not feed.done.wait(LOOK_S):
            if feed.begun.is_set() and not line.begun_s:
                self._begin(line, feed)
            if self._interrupted() or self._is_dead():
                self._feed = None
                if not self._is_dead():
                    feed.samples = faded(feed.samples[: feed.at + int(FADE_S * self._rate_hz)])
                    self._feed = feed
                    feed.done.wait(0.1)
                    self._feed = None
                return 0.0
        if not line.begun_s:
            self._begin(line, feed)
        return feed.last_s

    def _begin(self, line: _Line, feed: _Feed) -> None:
        line.begun_s = feed.first_s
        self._report(Began(line.number, feed.first_s, line.text))

    def _interrupted(self) -> bool:
        with self._changed:
            now = self._now
            if self._closed or self._cut or now is None:
                return True
            self._cut = any(
                line.urgency >= INTERRUPTS and line.urgency > now.urgency for line in self._lines
            )
            return self._cut

    def _is_dead(self) -> bool:
        stream = self._stream
        if stream is None:
            return True
        return not stream.active or self._steady_s() - self._asked_s > DEAD_S

    def _keep_device(self) -> None:
        now_s = self._steady_s()
        if self._stream is not None and self._is_dead():
            self._shut()
            self._lost("The loudspeaker takes no sound any more.", now_s)
        if self._stream is None and now_s >= self._next_try_s:
            try:
                self._open()
            except SpeechError as error:
                self._lost(str(error), now_s)
                return
            self._tries = 0
            if self._told_lost:
                self._told_lost = False
                self._report(SpeakerState(True, "The loudspeaker is there again."))

    def _lost(self, text: str, now_s: float) -> None:
        self._next_try_s = now_s + BACK_OFF_S[min(self._tries, len(BACK_OFF_S) - 1)]
        self._tries += 1
        if not self._told_lost:
            self._told_lost = True
            self._report(SpeakerState(False, text))

    def _open(self) -> None:
        library = self._library
        try:
            index, self._rate_hz = self._find()
            self._asked_s = self._steady_s() + OPENING_S
            stream = library.OutputStream(
                samplerate=self._rate_hz,
                device=index,
                channels=1,
                dtype="float32",
                latency=LATENCY_S,
                callback=self._callback,
            )
            stream.start()
            self._stream = stream
        except (library.PortAudioError, ValueError) as error:
            raise SpeechError(
                f"The loudspeaker '{self._device or 'default'}' cannot be opened: {error}. Plug "
                "it in, or see 'bayhelper check' for the devices there are."
            ) from error

    def _find(self) -> tuple[int | None, int]:
        if not self._device:
            found = self._library.query_devices(None, "output")
            return None, int(found["default_samplerate"])
        for index, one in enumerate(self._library.query_devices()):
            if one["max_output_channels"] > 0 and self._device.lower() in one["name"].lower():
                return index, int(one["default_samplerate"])
        raise SpeechError(f"No loudspeaker has '{self._device}' in its name. Correct 'speaker'.")

    def _callback(self, out: np.ndarray, frames: int, time: Any, status: Any) -> None:
        """Copies samples out and notes when they are heard, nothing else."""
        now_s = self._steady_s()
        self._asked_s = now_s
        out.fill(0)
        feed = self._feed
        if feed is None or feed.done.is_set():
            return
        ahead_s = min(LATEST_DAC_S, max(0.0, time.outputBufferDacTime - time.currentTime))
        block = feed.samples[feed.at : feed.at + frames]
        if feed.at == 0:
            feed.first_s = now_s + ahead_s
            feed.begun.set()
        out[: len(block), 0] = block
        feed.at += len(block)
        if feed.at >= len(feed.samples):
            feed.last_s = now_s + ahead_s + len(block) / self._rate_hz
            feed.done.set()

    def _shut(self) -> None:
        """Close a stream that may be broken, in a thread, because closing may hang then."""
        stream, self._stream = self._stream, None
        if stream is None:
            return

        def abort() -> None:
            try:
                stream.abort()
                stream.close()
            except self._library.PortAudioError:
                return

        closing = threading.Thread(target=abort, name="closing", daemon=True)
        closing.start()
        closing.join(1.0)
