"""Vosk behind the same Protocol: a model folder that is there already, read without dither."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from bayhelper.hear.engines.decoding_graph import UNKNOWN
from bayhelper.hear.engines.nothing import NOTHING, NOWHERE
from bayhelper.hear.engines.phrases import covering_phrases
from bayhelper.hear.engines.vosk_library import FRAMES_PER_S, knows, load_model, readings
from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode, Spotted

FEATURES = "mfcc.conf"
"""The file of a Kaldi model that says how features are made."""
DITHER_SEED = 1
"""Of the noise that is added instead of Kaldi's own; any number will do, as long as it stays."""


class VoskEngine(Closing):
    """Satisfies terms.ports.Engine.

    Vosk makes a bigram of the phrases that it is given, so what it hears may be joined from two of
    them: whoever calls lays it beside the grammar again. Scores are Vosk's own (log, acoustics and
    language together) and have no scale in common with another engine's.
    """

    name = "vosk_list"

    def __init__(self, model: Path) -> None:
        """Load a model folder. Raises HearingError when Vosk refuses it."""
        self._phrases: dict[str, str] = {}
        with TemporaryDirectory() as folder:
            try:
                without_dither(model, Path(folder))
            except OSError as error:
                raise HearingError(
                    f"Vosk cannot load the model in {model}: {error}. Give the folder that holds "
                    "am/ and conf/."
                ) from error
            self._model: Any = load_model(Path(folder), model)

    def close(self) -> None:
        """Let go of the model."""
        self._model = None

    def missing_words(self, words: Sequence[str]) -> tuple[str, ...]:
        """Words that the model's own table lacks; Vosk cannot be taught others at run time."""
        return tuple(word for word in words if not self._knows(word))

    def listen(self, sound: Sound, jsgf: str) -> Decode:
        """Read under phrases that cover the grammar, with '[unk]' for everything else.

        Raises HearingError when no phrase of it is left with the words that the model knows.
        """
        if jsgf not in self._phrases:
            if len(self._phrases) >= 48:
                self._phrases.clear()
            self._phrases[jsgf] = self._list(covering_phrases(jsgf, self._knows))
        return self._read(sound, self._phrases[jsgf])

    def listen_once(self, sound: Sound, jsgf: str) -> Decode:
        """As `listen`, but the phrases are not kept for the next time."""
        return self._read(sound, self._list(covering_phrases(jsgf, self._knows)))

    def listen_freely(self, sound: Sound) -> Decode:
        """Read under the model's own language."""
        return self._read(sound, "")

    def spot(self, sound: Sound, phrase: str) -> Spotted:
        """Score 0 where the phrase stands against '[unk]', or is read freely where that is unknown.

        Vosk gives no likelihood ratio, so there is nothing between 0 and minus infinity.
        """
        if self.missing_words(phrase.split()):
            return NOWHERE
        grammar = self._list([phrase]) if self._knows(UNKNOWN) else ""
        heard = self._read(sound, grammar)
        wanted = tuple(phrase.split())
        for at in range(len(heard.words)):
            if heard.words[at : at + len(wanted)] == wanted:
                return Spotted(0.0, heard.word_spans_s[at][0] if heard.word_spans_s else 0.0)
        return NOWHERE

    def _knows(self, word: str) -> bool:
        return knows(self._model, word)

    def _list(self, phrases: Sequence[str]) -> str:
        unknown = [UNKNOWN] if self._knows(UNKNOWN) else []
        return json.dumps([*phrases, *unknown], ensure_ascii=False)

    def _read(self, sound: Sound, grammar: str) -> Decode:
        dithered = Sound(_dithered(sound.pcm), sound.rate_hz)
        best = next(readings(self._model, dithered, 1, grammar), None)
        if best is None:
            return NOTHING
        kept = [at for at, word in enumerate(best.words) if word != UNKNOWN]
        if not kept:
            return NOTHING
        return Decode(
            tuple(best.words[at] for at in kept),
            best.score / max(1.0, sound.length_s * FRAMES_PER_S),
            tuple(best.spans_s[at] for at in kept),
        )


def without_dither(model: Path, into: Path) -> None:
    """Lay out a model folder again, by links, so that the same sound gives the same features.

    Kaldi adds random noise ('dither') to every frame unless told not to, and models are shipped
    without being told; the sound gets the same noise each time instead, see _dithered. Raises
    FileNotFoundError when the folder holds no feature settings.
    """
    found = model / "conf" / FEATURES
    if not found.exists():
        found = model / FEATURES
    lines = found.read_text(encoding="utf-8").splitlines()
    home = into / found.relative_to(model).parent
    home.mkdir(exist_ok=True)
    for entry in model.iterdir():
        if entry != found.parent:
            _link(entry, into, found)
    if home != into:
        for entry in found.parent.iterdir():
            _link(entry, home, found)
    kept = [line for line in lines if not line.startswith("--dither")]
    (home / FEATURES).write_text("\n".join([*kept, "--dither=0"]) + "\n", encoding="utf-8")


def _dithered(pcm: bytes) -> bytes:
    """The sound with the noise of one quantisation step that models expect, the same each time."""
    samples = np.frombuffer(pcm, "<i2").astype(np.float64)
    noise = np.random.default_rng(DITHER_SEED).standard_normal(len(samples))
    return np.clip(np.round(samples + noise), -32768, 32767).astype("<i2").tobytes()


def _link(entry: Path, into: Path, but: Path) -> None:
    if entry != but:
        (into / entry.name).symlink_to(entry.resolve())
