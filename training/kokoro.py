"""Natural voices: Kokoro-82M, run by kokoro-onnx on one thread."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import onnxruntime
from kokoro_onnx import Kokoro
from numpy.typing import NDArray

from training.kokoro_files import kokoro_files
from training.sound_files import Samples
from training.speakers import RecipeError, Speaker

LANGUAGES = {"uk": "en-gb", "us": "en-us"}
"""Of eSpeak NG's pronunciations, by dialect."""


class KokoroSpeech:
    """Kokoro-82M int8 on one thread; the same words, speaker and speed give the same samples."""

    made_by = "Kokoro-82M int8 (kokoro-onnx 0.6.1)"

    def __init__(self, cache: Path) -> None:
        files = kokoro_files(cache)
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        session = onnxruntime.InferenceSession(
            str(files.model), options, providers=["CPUExecutionProvider"]
        )
        self._kokoro = Kokoro.from_session(session, str(files.voices))

    def say(self, text: str, speaker: Speaker, speed: float) -> Samples:
        """See Synthesiser; RecipeError for a voice that does not exist."""
        audio, rate_hz = self._kokoro.create(
            text, self._style(speaker), speed, LANGUAGES[speaker.dialect]
        )
        return Samples(np.asarray(audio, dtype=np.float32), rate_hz)

    def _style(self, speaker: Speaker) -> NDArray[np.float32]:
        known = self._kokoro.get_voices()
        missing = [name for name, _ in speaker.parts if name not in known]
        if missing:
            raise RecipeError(f"expected voices among {', '.join(known)}; got {', '.join(missing)}")
        mixture = sum(w * self._kokoro.get_voice_style(name) for name, w in speaker.parts)
        return np.asarray(mixture, dtype=np.float32)
