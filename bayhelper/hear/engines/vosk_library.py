"""Vosk itself: models, and every reading that one gives of a sound."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import vosk

from bayhelper.hear.engines.nothing import SHORTEST_S
from bayhelper.terms.errors import HearingError
from bayhelper.terms.sound import Sound

DEFAULT_MODEL = "vosk-model-small-en-us-0.15"
"""The small US English model of Vosk's own list, fetched only when somebody asks for one."""
FRAMES_PER_S = 100
"""Kaldi's features come every 10 ms; scores are told per frame of these."""
QUIET = -2
"""Errors only: Kaldi warns of every phrase that breaks off."""


@dataclass(frozen=True)
class VoskReading:
    """One way to read a sound."""

    words: tuple[str, ...]
    """As the model writes them."""
    score: float
    """Natural logarithm, acoustics and graph together, over the whole sound."""
    spans_s: tuple[tuple[float, float], ...]
    """Start and end of each word."""


def load_model(folder: Path, named: Path) -> Any:
    """Load what lies in a folder; `named` is the folder that people know it by.

    Raises HearingError when Vosk refuses it.
    """
    vosk.SetLogLevel(QUIET)
    try:
        return vosk.Model(str(folder))
    except Exception as error:  # the package raises bare Exception
        raise HearingError(
            f"Vosk cannot load the model in {named}. Give the folder that holds am/ and conf/; "
            "if it is the right one, fetch it again."
        ) from error


def knows(model: Any, word: str) -> bool:
    """Whether the word is in the model's own table."""
    return bool(model.vosk_model_find_word(word) >= 0)


def readings(model: Any, sound: Sound, most: int, grammar: str = "") -> Iterator[VoskReading]:
    """At most so many readings, the likeliest first; none of a sound too short to read.

    `grammar` is Vosk's list of phrases as JSON; without one the model's own graph is searched.
    """
    if sound.length_s < SHORTEST_S:
        return
    arguments = (model, sound.rate_hz, *((grammar,) if grammar else ()))
    recogniser: Any = vosk.KaldiRecognizer(*arguments)
    recogniser.SetWords(True)
    recogniser.SetMaxAlternatives(most)
    recogniser.AcceptWaveform(sound.pcm)
    for found in json.loads(recogniser.FinalResult()).get("alternatives", []):
        rows = found.get("result", [])
        yield VoskReading(
            tuple(row["word"] for row in rows),
            float(found["confidence"]),
            tuple((row["start"], row["end"]) for row in rows),
        )


def download_model(name: str = DEFAULT_MODEL) -> Path:
    """Fetch a model through the vosk package; gives its folder.

    Raises HearingError when vosk knows no such model or the network does not reach its site.
    """
    try:
        vosk.Model(model_name=name)
    except SystemExit as error:
        raise HearingError(f"Vosk knows no model '{name}'. Choose one that it lists.") from error
    except Exception as error:  # the package raises whatever its web client raises
        raise HearingError(
            f"The model '{name}' could not be fetched: {type(error).__name__}. It needs a network "
            "that reaches Vosk's own site; or copy a model folder here and set vosk_model."
        ) from error
    homes = [Path(home) for home in vosk.MODEL_DIRS if home]
    return next(home / name for home in homes if (home / name).is_dir())
