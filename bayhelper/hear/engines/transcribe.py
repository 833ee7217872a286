"""What a recording says, in free words: for notes, where nobody waits for the answer."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any, Protocol

from bayhelper.sound.samples import STEPS, floats
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Engine
from bayhelper.terms.sound import Sound


class Transcriber(Protocol):
    """Writes down free speech."""

    name: str

    def transcribe(self, sound: Sound) -> str:
        """The words of 16 kHz sound; empty when there are none."""
        ...


class EngineTranscriber:
    """The free reading of the engine that is there anyway."""

    def __init__(self, engine: Engine) -> None:
        self.name = engine.name
        self._engine = engine

    def transcribe(self, sound: Sound) -> str:
        return " ".join(self._engine.listen_freely(sound).words)


class WhisperTranscriber:
    """faster-whisper with a model folder that is on this computer; nothing is fetched."""

    name = "faster-whisper"

    def __init__(self, model: Path) -> None:
        """Raises HearingError when the library is missing or takes the folder for no model."""
        if not (model / "model.bin").is_file():
            raise HearingError(
                f"{model} holds no model.bin. Give the folder of a faster-whisper model as "
                "whisper_model."
            )
        try:
            library = importlib.import_module("faster_whisper")
        except ImportError as error:
            raise HearingError(
                "faster-whisper is not installed. Run pip install 'bayhelper[whisper]', or leave "
                "whisper_model empty."
            ) from error
        try:
            self._model: Any = library.WhisperModel(
                str(model), device="cpu", compute_type="int8", cpu_threads=1, local_files_only=True
            )
        except (RuntimeError, ValueError) as error:
            raise HearingError(f"faster-whisper does not take {model}: {error}") from error

    def transcribe(self, sound: Sound) -> str:
        samples = floats(sound.pcm, STEPS)
        pieces, _ = self._model.transcribe(samples, language="en", temperature=0.0)
        return " ".join(piece.text.strip() for piece in pieces)
