"""From a synthesiser's samples to a recording: one rate, one level, silence at both ends, FLAC."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

RATE_HZ = 16_000
"""Of every recording, as the engines read it."""
SPEECH_DBFS = -23.0
"""Level of the speaking parts, RMS below full scale."""
PEAK_DBFS = -3.0
"""No sample is louder than this; a recording that would be is turned down as a whole."""
FLOOR_DBFS = -75.0
"""Level of the faint noise everywhere: digital silence is not what a microphone gives."""
SILENCE_S = 0.3
"""Silence kept at each end."""
_TRIM_DB = 40.0
"""Ends further below the loudest frame are cut off: chosen."""
_ACTIVE_DB = 25.0
"""Frames within this of the loudest count as speech: chosen, every figure of noise rests on it."""
_FRAME_S = 0.01
"""Seconds over which a level is taken: common practice."""


@dataclass(frozen=True)
class Samples:
    """Mono sound in memory."""

    values: NDArray[np.float32]
    """Full scale is 1.0; shape (frames,)."""
    rate_hz: int
    """Frames per second."""


def read(path: Path) -> Samples:
    """A sound file as mono samples."""
    values, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    return Samples(values.mean(axis=1), rate_hz)


def recording(speech: Samples, seed: str, silence_s: float = SILENCE_S) -> Samples:
    """Resampled to 16 kHz, trimmed, levelled, with silence at both ends and a faint floor.

    The floor's noise depends on `seed` alone, so the same words give the same file.
    """
    values = soxr.resample(speech.values, speech.rate_hz, RATE_HZ, quality="VHQ")
    values = _levelled(_trimmed(values))
    edge = np.zeros(round(silence_s * RATE_HZ), dtype=np.float32)
    whole = np.concatenate([edge, values, edge])
    noise = np.random.default_rng(zlib.crc32(seed.encode())).standard_normal(len(whole))
    return Samples((whole + noise * ratio(FLOOR_DBFS)).astype(np.float32), RATE_HZ)


def write(path: Path, sound: Samples) -> float:
    """Write 16-bit FLAC, all of it or nothing; gives the duration in seconds."""
    path.parent.mkdir(parents=True, exist_ok=True)
    unfinished = path.with_suffix(".part")
    pcm = np.round(np.clip(sound.values, -1.0, 1.0) * 32767).astype(np.int16)
    soundfile.write(
        unfinished, pcm, sound.rate_hz, format="FLAC", subtype="PCM_16", compression_level=1.0
    )
    unfinished.replace(path)
    return len(pcm) / sound.rate_hz


def ratio(decibels: float) -> float:
    """The amplitude ratio of a level difference."""
    return float(10 ** (decibels / 20))


def frame_rms(
    values: NDArray[np.floating | np.integer], frame_s: float = _FRAME_S
) -> NDArray[np.float64]:
    """RMS of each whole frame of that many seconds; shorter sound is repeated to fill one."""
    size = round(frame_s * RATE_HZ)
    count = max(1, len(values) // size)
    frames = np.resize(values, count * size).reshape(count, size)
    return np.asarray(np.sqrt(np.mean(np.square(frames, dtype=np.float64), axis=1)))


def active_rms(values: NDArray[np.floating]) -> float:
    """Level of speech: RMS over the 10 ms frames within 25 dB of the loudest one."""
    rms = frame_rms(values)
    return float(np.sqrt(np.mean(rms[rms > rms.max() * ratio(-_ACTIVE_DB)] ** 2)))


def _trimmed(values: NDArray[np.float32]) -> NDArray[np.float32]:
    """Without the ends that are more than _TRIM_DB below the loudest frame."""
    rms = frame_rms(values)
    loud = np.flatnonzero(rms > rms.max() * ratio(-_TRIM_DB))
    size = round(_FRAME_S * RATE_HZ)
    first, last = max(0, loud[0] - 2) * size, (loud[-1] + 3) * size
    return values[first:last]


def _levelled(values: NDArray[np.float32]) -> NDArray[np.float32]:
    gain = ratio(SPEECH_DBFS) / active_rms(values)
    gain = min(gain, ratio(PEAK_DBFS) / float(np.abs(values).max()))
    return (values * gain).astype(np.float32)
