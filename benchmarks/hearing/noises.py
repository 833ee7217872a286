"""What the benchmark mixes in, and what it does to voices: machines, people, masks, headsets.

Machines and water follow what each does rather than any recording (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import soxr

from training.noise import LEVEL_DBFS, Wave, compressor, extractor, shaped
from training.sound_files import RATE_HZ, active_rms, ratio, read

LENGTH_S = 60.0
"""Of each noise, before it repeats: chosen, longer than a command and its pauses."""
SPEECH_DBFS = -23.0
"""Level of speech in every stream, as in training/sound_files.py."""
CLEAN_DB = 40.0
"""The noise of the clean condition: silence does not exist."""


def polisher(rng: np.random.Generator, frames: int) -> Wave:
    """A motor's whine with its overtones, the gears' teeth above it, and the rush of the pad.

    It is set down and taken up every few seconds, and slows as it is pressed.
    """
    seconds = np.arange(frames) / RATE_HZ
    knots = np.arange(0, frames / RATE_HZ + 1, 0.5)
    load = np.interp(seconds, knots, rng.uniform(-1, 1, len(knots)))
    turns_hz = 95 * (1 + 0.1 * load)
    phase = 2 * np.pi * np.cumsum(turns_hz) / RATE_HZ
    motor = sum(np.sin(n * phase + n) / n**0.6 for n in (1, 2, 3, 4, 6, 8, 12, 16, 24))
    gears = sum((1 + 0.3 * np.sin(phase)) * np.sin(17 * n * phase + n) / n for n in (1, 2, 3))
    pressed = np.interp(seconds, knots, rng.uniform(0.4, 1.0, len(knots)))
    whole = motor * 0.4 + gears * 0.5 + shaped(rng, frames, 2500, 7500) * 0.7 * pressed
    return np.asarray(whole)


def water(rng: np.random.Generator, frames: int) -> Wave:
    """A hose on a panel: a hiss that rises and falls, and drops."""
    seconds = np.arange(frames) / RATE_HZ
    swell = 0.7 + 0.3 * np.sin(2 * np.pi * 0.4 * seconds + 1)
    drops = np.zeros(frames)
    ring = np.exp(-np.arange(800) / 120) * np.sin(2 * np.pi * 2200 * np.arange(800) / RATE_HZ)
    for at in rng.integers(0, frames - 800, int(12 * frames / RATE_HZ)):
        drops[at : at + 800] += ring * rng.uniform(0.5, 3)
    return shaped(rng, frames, 4000, 7900) * swell + drops


def people(talk: Sequence[Path], voices: int, frames: int, rng: np.random.Generator) -> Wave:
    """So many talking at once, each saying recordings in an order of his own."""
    total = np.zeros(frames)
    for _ in range(voices):
        said: list[np.ndarray] = []
        while sum(map(len, said)) < frames:
            said.append(read(talk[int(rng.integers(len(talk)))]).values)
        total += np.concatenate(said)[:frames]
    return total


def radio(talk: Sequence[Path], frames: int, rng: np.random.Generator) -> Wave:
    """One announcer from a small loudspeaker, squeezed to one loudness."""
    voice = band(people(talk, 1, frames, rng), 300, 4500)
    squeezed = np.tanh(voice / (np.sqrt(np.mean(voice**2)) * 1.5))
    return np.asarray(squeezed + shaped(rng, frames, 4000, 7000) * 0.02)


def all_noises(talk: Sequence[Path], kitchen: Path | None, seed: int) -> dict[str, Wave]:
    """A minute of each at LEVEL_DBFS (RMS of the whole); people only where talk is at hand."""
    frames = round(LENGTH_S * RATE_HZ)
    rng = [np.random.default_rng([seed, n]) for n in range(6)]
    made = {
        "polisher": polisher(rng[0], frames),
        "compressor": compressor(rng[1], frames),
        "extractor": extractor(rng[2], frames),
        "water": water(rng[3], frames),
    }
    if talk:
        made["radio"] = radio(talk, frames, rng[4])
        made["two talkers"] = people(talk, 2, frames, rng[5])
    if kitchen is not None:
        sound = read(kitchen)
        made["kitchen"] = soxr.resample(sound.values, sound.rate_hz, RATE_HZ).astype(np.float64)
    return {name: _levelled(wave, LEVEL_DBFS) for name, wave in made.items()}


def _levelled(wave: Wave, dbfs: float) -> Wave:
    return np.asarray(wave * (ratio(dbfs) / np.sqrt(np.mean(wave**2))))


def band(wave: np.ndarray, low_hz: float, high_hz: float) -> np.ndarray:
    """Only what lies between two frequencies, with edges of a tenth of each."""
    spectrum = np.fft.rfft(wave)
    hz = np.fft.rfftfreq(len(wave), 1 / RATE_HZ)
    up = np.clip((hz - 0.9 * low_hz) / (0.2 * low_hz), 0, 1)
    down = np.clip((1.1 * high_hz - hz) / (0.2 * high_hz), 0, 1)
    return np.asarray(np.fft.irfft(spectrum * up * down, len(wave)))


def through(voice: str, values: np.ndarray) -> np.ndarray:
    """A voice as it comes: 'plain', 'mask', 'effort' or 'headset'. At SPEECH_DBFS active RMS.

    A mask takes up to 12 dB off above 2 kHz (from memory of studies of respirators; half of it by
    1 kHz). Raised effort lifts 1 to 4 kHz by 8 dB against the rest and speaks a semitone higher
    and a tenth faster; it is no shouting. The headset is a telephone's band at 8 kHz.
    """
    wave = values.astype(np.float64)
    if voice == "mask":
        wave = tilted(wave, ((0, 0), (500, -1), (1000, -4), (2000, -10), (4000, -12), (8000, -12)))
    elif voice == "effort":
        wave = tilted(wave, ((0, -4), (500, 0), (1000, 6), (4000, 8), (8000, 2)))
        wave = soxr.resample(wave, RATE_HZ * 1.06, RATE_HZ)
    elif voice == "headset":
        narrow = soxr.resample(band(wave, 300, 3400), RATE_HZ, 8000)
        wave = soxr.resample(np.round(narrow * 2047) / 2047, 8000, RATE_HZ)
    return np.asarray(wave * (ratio(SPEECH_DBFS) / active_rms(wave.astype(np.float32))))


def tilted(wave: np.ndarray, gains_db: Sequence[tuple[float, float]]) -> np.ndarray:
    """A filter given as (frequency, dB) corners."""
    spectrum = np.fft.rfft(wave)
    hz = np.fft.rfftfreq(len(wave), 1 / RATE_HZ)
    at_hz, gain_db = zip(*gains_db, strict=True)
    return np.asarray(
        np.fft.irfft(spectrum * 10 ** (np.interp(hz, at_hz, gain_db) / 20), len(wave))
    )
