"""Vosk behind the same Protocol: a model folder by path, environment, or its own download."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import vosk

from bayhelper.hear.pronounce import Pronouncer
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound
from bayhelper.terms.utterance import Decode

MODEL_VARIABLE = "BAYHELPER_VOSK_MODEL"
DEFAULT_MODEL = "vosk-model-small-en-us-0.15"
UNKNOWN = "[unk]"
MOST_KEPT = 32


def find_model(folder: str = "") -> Path:
    """The model folder: as given, or BAYHELPER_VOSK_MODEL, or one that vosk downloaded.

    Raises HearingError when there is none.
    """
    named = folder or os.environ.get(MODEL_VARIABLE, "")
    places = [Path(named)] if named else sorted((Path.home() / ".cache" / "vosk").glob("*-en-*"))
    for place in places:
        if (place / "am" / "final.mdl").exists() or (place / "final.mdl").exists():
            return place
    looked = named or "~/.cache/vosk"
    raise HearingError(
        f"No Vosk model was found in {looked}. Run 'bayhelper model get' where there is a network, "
        f"or set vosk_model in settings.toml, or {MODEL_VARIABLE}, to a model's folder."
    )


def download_model(name: str = DEFAULT_MODEL) -> Path:
    """Fetch a model through the vosk package. Raises HearingError where there is no network."""
    try:
        vosk.Model(model_name=name)
    except SystemExit as error:
        raise HearingError(f"Vosk knows no model '{name}'. Choose one that it lists.") from error
    except Exception as error:  # the package raises whatever its web client raises
        raise HearingError(
            f"The model '{name}' could not be fetched: {type(error).__name__}. It needs a network "
            "that reaches Vosk's own site; or copy a model folder here and set vosk_model."
        ) from error
    return find_model(str(Path.home() / ".cache" / "vosk" / name))


class VoskEngine:
    """Satisfies terms.ports.Engine. Vosk's run-time grammar is a bigram: match what it heard."""

    name = "vosk"

    def __init__(self, model: Path, pronouncer: Pronouncer) -> None:
        """Load a model folder. Raises HearingError when Vosk refuses it."""
        vosk.SetLogLevel(-1)
        try:
            self._model: Any = vosk.Model(str(model))
        except Exception as error:  # the package raises bare Exception
            raise HearingError(
                f"Vosk cannot load the model in {model}. Give the folder that holds am/ and conf/."
            ) from error

    def close(self) -> None:
        """Let go of the model."""
        self._model = None

    def missing_words(self, words: Sequence[str]) -> tuple[str, ...]:
        """Words that the model's own table lacks; Vosk cannot be taught others at run time."""
        return tuple(w for w in words if self._model.vosk_model_find_word(w) < 0)

    def listen(self, sound: Sound, jsgf: str) -> Decode:
        """Read under the words of a grammar, with '[unk]' for everything else."""
        words = sorted(set(jsgf_words(jsgf)))
        if not words:
            raise HearingError("This grammar has no words; an empty list would mean anything.")
        return self._read(sound, json.dumps([" ".join(words), *words, UNKNOWN]))

    def listen_freely(self, sound: Sound) -> Decode:
        """Read under the model's own language."""
        return self._read(sound, "")

    def spot(self, sound: Sound, phrase: str, threshold: float) -> bool:
        """Whether the free reading holds the phrase; the threshold has no meaning here."""
        free = " ".join(self._read(sound, json.dumps([phrase, UNKNOWN])).words)
        return phrase in free

    def _read(self, sound: Sound, grammar: str) -> Decode:
        arguments = (self._model, sound.rate_hz, *((grammar,) if grammar else ()))
        recogniser: Any = vosk.KaldiRecognizer(*arguments)
        recogniser.SetWords(True)
        recogniser.AcceptWaveform(sound.pcm)
        result = json.loads(recogniser.FinalResult())
        rows = [r for r in result.get("result", []) if r["word"] != UNKNOWN]
        words = tuple(row["word"] for row in rows)
        mean = sum(row["conf"] for row in rows) / len(rows) if rows else 0.0
        spans = tuple((row["start"], row["end"]) for row in rows)
        return Decode(words, mean, spans)


def jsgf_words(jsgf: str) -> tuple[str, ...]:
    """The words of a self-contained grammar, without rule names and punctuation."""
    words = []
    for line in jsgf.splitlines()[2:]:
        right = line.partition("=")[2]
        for token in right.replace("|", " ").translate(str.maketrans("()[]*+;", "       ")).split():
            if not token.startswith("<") and not token.startswith("/"):
                words.append(token)
    return tuple(words)
