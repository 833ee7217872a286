"""Front ends and engines, each put together as it would be live."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from bayhelper.hear.accept import Ear
from bayhelper.hear.denoise import (
    DEEPFILTER,
    RNNOISE,
    CleanedPointer,
    DeepFilter,
    RNNoise,
    StreamSuppressor,
)
from bayhelper.hear.endpoint import RATE_HZ, EndPointer
from bayhelper.hear.patience import EarlyReader, is_whole
from bayhelper.run.clock import processor_s
from bayhelper.terms.ports import Engine, Offer, Suppressor
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Hearing, Utterance
from benchmarks.hearing.streams import Caught


class BesideReader:
    """Reads freely as the second process would, and remembers what it cost."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.spent_s = 0.0

    def begin(self, sound: Sound) -> Callable[[], tuple[Decode, float]]:
        """See hear.accept.FreeReader; the cost is told by `spent_s` alone."""
        began = processor_s()
        decode = self._engine.listen_freely(sound)
        self.spent_s = processor_s() - began
        return lambda: (decode, 0.0)


class TwoProcesses:
    """An ear whose free reading runs beside the other one: the longer of the two is waited for."""

    def __init__(self, engine: Engine) -> None:
        self._beside = BesideReader(engine)
        self._ear = Ear(engine, processor_s, free_reader=self._beside)
        self.waited_s = 0.0

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """See hear.accept.Ear."""
        self._beside.spent_s = 0.0
        hearing = self._ear.listen(utterance, offer, follow_on)
        free_s = self._beside.spent_s
        self.waited_s = max(hearing.compute_s - free_s, free_s)
        return hearing


@dataclass(frozen=True)
class Front:
    """What stands before the engine."""

    suppress: Callable[[], Suppressor] | None = None
    """Cleans the stream before the end-pointer."""
    suppress_utterance: Callable[[Sound], Sound] | None = None
    """Cleans each utterance by itself."""
    patience_s: float = 0.8
    """Silence that ends an utterance."""
    early: bool = True
    """Whether a command that is complete ends after a shorter pause."""


class LiveChain:
    """Satisfies streams.Chain."""

    def __init__(self, front: Front, engine: Engine, offer: Offer) -> None:
        self._front, self._offer = front, offer
        self._judge = TwoProcesses(engine)
        self._reader = EarlyReader(self._judge)
        complete = self._complete if front.early else None
        self._pointer: EndPointer | CleanedPointer
        if front.suppress is None:
            self._pointer = EndPointer(front.patience_s, complete=complete)
        else:
            self._pointer = CleanedPointer(front.suppress(), front.patience_s, complete)
        self._at_s = 0.0
        self._asked_s = 0.0
        self._took_s = 0.0

    def feed(self, block: bytes, at_s: float) -> list[Caught]:
        """See streams.Chain."""
        self._at_s = at_s
        return [self._judged(one) for one in self._pointer.feed(block)]

    def finish(self, at_s: float) -> list[Caught]:
        """See streams.Chain."""
        self._at_s = at_s
        return [self._judged(one) for one in self._pointer.finish()]

    def _complete(self, utterance: Utterance) -> bool:
        """Ask early, and remember when and how long it took."""
        self._judge.waited_s = 0.0
        whole = is_whole(self._reader.listen(utterance, self._offer, False), self._offer)
        if self._judge.waited_s:
            self._asked_s, self._took_s = self._at_s, self._judge.waited_s
        return whole

    def _judged(self, utterance: Utterance) -> Caught:
        cleaning_s, heard = 0.0, utterance
        if self._front.suppress_utterance is not None and utterance.sound is not None:
            began = processor_s()
            heard = replace(utterance, sound=self._front.suppress_utterance(utterance.sound))
            cleaning_s = processor_s() - began
        self._judge.waited_s = 0.0
        hearing = self._reader.listen(heard, self._offer, False)
        seconds = cleaning_s + self._judge.waited_s
        if not self._judge.waited_s:
            # It was read when the pause began: what that took passed while silence was waited for.
            seconds = max(0.0, self._asked_s + self._took_s - self._at_s)
        return Caught(utterance, self._at_s, hearing, seconds)


def by_noisereduce(sound: Sound) -> Sound:
    """Spectral gating of one utterance by PyPI noisereduce, stationary noise."""
    reduce_noise = importlib.import_module("noisereduce").reduce_noise
    samples = np.frombuffer(sound.pcm, "<i2").astype(np.float32) / 32768
    return _sound(reduce_noise(y=samples, sr=RATE_HZ, stationary=True))


def by_deepfilter(sound: Sound) -> Sound:
    """Each utterance by itself, its own sound once before as a run-up."""
    suppressor = StreamSuppressor(DEEPFILTER, DeepFilter())
    pcm = suppressor.feed(sound.pcm + sound.pcm) + suppressor.finish()
    suppressor.close()
    return Sound(pcm[len(sound.pcm) :], RATE_HZ)


def _sound(samples: np.ndarray) -> Sound:
    return Sound((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes(), RATE_HZ)


FRONTS = {
    "bare": Front(),
    "deepfilter": Front(suppress=lambda: StreamSuppressor(DEEPFILTER, DeepFilter())),
    "rnnoise": Front(suppress=lambda: StreamSuppressor(RNNOISE, RNNoise())),
    "bare, 0.8 s": Front(early=False),
    "deepfilter 12 dB": Front(suppress=lambda: StreamSuppressor(DEEPFILTER, DeepFilter(12.0))),
    "deepfilter, each": Front(suppress_utterance=by_deepfilter, early=False),
    "noisereduce, each": Front(suppress_utterance=by_noisereduce, early=False),
}
"""By name in the table. 'each': every utterance by itself, else the stream before it is cut."""
