"""The loudspeaker through PortAudio: a thin callback, and a device that comes back."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import numpy as np

from bayhelper.sound.portaudio import back_off_s, cannot_open, find_device, shut
from bayhelper.sound.resampling import resampled
from bayhelper.sound.samples import STEPS, floats
from bayhelper.speak.speaker_reports import SpeakerState
from bayhelper.terms.errors import SoundError
from bayhelper.terms.sound import Sound

OPENING_S = 5.0
"""How long a device may take to ask for its first samples; our own choice."""
DEAD_S = 3.0
"""A stream that asks for nothing for so long is taken for dead; our own choice, longer than a busy
machine holds up a callback."""
CLOSING_S = 1.0
"""How long closing a stream is waited for; our own choice."""
LATENCY_S = 0.06
"""What the device may hold ahead; with less, a busy machine tears holes into sounds. By trial."""
FADE_S = 0.01
"""So much more is heard of a sound that is cut off; common practice, no source."""
FADE_FRAMES = 480
"""FADE_S at the 48 kHz of most devices."""
LATEST_DAC_S = 0.5
"""A device that says it plays later than this does not know; our own choice."""


def float_samples(sound: Sound, rate_hz: int, gain: float) -> np.ndarray:
    """Float samples at the device's rate; shape (frames,)."""
    samples = floats(sound.pcm, STEPS) * np.float32(gain)
    if sound.rate_hz == rate_hz:
        return samples
    return np.asarray(np.clip(resampled(samples, sound.rate_hz, rate_hz), -gain, gain))


def faded(samples: np.ndarray) -> np.ndarray:
    """The same, going down to nothing in the last FADE_FRAMES; a cut makes no click then."""
    out = samples.copy()
    count = min(len(out), FADE_FRAMES)
    out[len(out) - count :] *= np.linspace(1, 0, count, dtype=np.float32)
    return out


class Feed:
    """What the callback takes its samples from; it sets `done` with the last one."""

    def __init__(self, samples: np.ndarray) -> None:
        """`samples` are float32 at the device's rate, shape (frames,)."""
        self.samples = samples
        self.at = 0
        """Samples that the device has taken."""
        self.first_s = 0.0
        """When the first one is heard, steady seconds; holds once `begun` is set."""
        self.last_s = 0.0
        """When the last one has been heard, steady seconds; holds once `done` is set."""
        self.begun = threading.Event()
        self.done = threading.Event()


class Loudspeaker:
    """One output device, opened again when it was lost; all but the callback is for one thread."""

    def __init__(
        self,
        library: Any,
        report: Callable[[SpeakerState], None],
        steady_s: Callable[[], float],
        device: str,
    ) -> None:
        """Opens nothing yet; `keep` does. `device` is part of a name, empty for the default."""
        self._library = library
        self._report = report
        self._steady_s = steady_s
        self._device = device
        self._feed: Feed | None = None
        self._stream: Any = None
        self._rate_hz = 0
        self._asked_s = 0.0
        self._tries = 0
        self._next_try_s = 0.0
        self._told_lost = False

    @property
    def is_open(self) -> bool:
        """Whether there is a stream, dead or alive."""
        return self._stream is not None

    @property
    def is_dead(self) -> bool:
        """Whether there is no stream that takes sound."""
        stream = self._stream
        if stream is None:
            return True
        return not stream.active or self._steady_s() - self._asked_s > DEAD_S

    def start(self, sound: Sound, gain: float) -> Feed:
        """Play a sound from now on, at once; `gain` is the factor of its samples."""
        self._feed = Feed(float_samples(sound, self._rate_hz, gain))
        return self._feed

    def cut(self, feed: Feed) -> None:
        """Let what is being played die away."""
        self._feed = None
        if not self.is_dead:
            feed.samples = faded(feed.samples[: feed.at + int(FADE_S * self._rate_hz)])
            self._feed = feed
            feed.done.wait(0.1)
            self._feed = None

    def keep(self) -> None:
        """Open it when it is not open, let go of it when it died; what changed is reported."""
        now_s = self._steady_s()
        if self._stream is not None and self.is_dead:
            self.close()
            self._lost("The loudspeaker takes no sound any more.", now_s)
        if self._stream is None and now_s >= self._next_try_s:
            try:
                self._open()
            except SoundError as error:
                self._lost(str(error), now_s)
                return
            self._tries = 0
            if self._told_lost:
                self._told_lost = False
                self._report(SpeakerState(True, "The loudspeaker is there again."))

    def close(self) -> None:
        """Give the device back."""
        stream, self._stream = self._stream, None
        if stream is not None:
            shut(self._library, stream, CLOSING_S)

    def _lost(self, text: str, now_s: float) -> None:
        self._next_try_s = now_s + back_off_s(self._tries)
        self._tries += 1
        if not self._told_lost:
            self._told_lost = True
            self._report(SpeakerState(False, text))

    def _open(self) -> None:
        library = self._library
        try:
            index, self._rate_hz = find_device(library, self._device, "output")
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
            raise cannot_open("output", self._device, error) from error

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
