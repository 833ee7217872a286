"""Noise of a shop, made by calculation, and speech mixed into it at a stated ratio.

    python -m training.noise --into /tmp/corpora/noise --length-s 60

The kinds follow what each machine does rather than any recording (common practice, no source):
a polisher is a motor's whine with its overtones, wavering as it is loaded, and the rush of its pad;
a compressor is a slow train of thumps; a pressure washer is a steady hiss; an extractor is a low
roar; babble is several people talking over one another, made of the talk corpus.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from training.sound_files import RATE_HZ, Samples, active_rms, ratio, read, write
from training.speakers import RecipeError

LEVEL_DBFS = -30.0
"""RMS of every noise below full scale: chosen, with room for its peaks."""
Wave = NDArray[np.float64]


def shaped(rng: np.random.Generator, frames: int, low_hz: float, high_hz: float) -> Wave:
    """Noise that falls by 6 dB an octave above `low_hz` and ends at `high_hz`, RMS 1."""
    spectrum = np.fft.rfft(rng.standard_normal(frames))
    hz = np.fft.rfftfreq(frames, 1 / RATE_HZ)
    spectrum *= np.where(hz < high_hz, 1 / np.sqrt(1 + (hz / low_hz) ** 2), 0.0)
    wave = np.fft.irfft(spectrum, frames)
    return np.asarray(wave / np.sqrt(np.mean(wave**2)))


def polisher(rng: np.random.Generator, frames: int) -> Wave:
    """A motor at about 80 turns a second, slowing as it is pressed, and the rush of the pad."""
    load = np.interp(np.arange(frames), np.arange(0, frames + 8000, 8000), _walk(rng, frames))
    phase = 2 * np.pi * np.cumsum(80 * (1 + 0.08 * load)) / RATE_HZ
    whine = sum(np.sin(n * phase + n) / n**0.7 for n in (1, 2, 3, 4, 6, 8, 12, 16, 22))
    return np.asarray(whine * 0.5 + shaped(rng, frames, 2500, 7500) * 0.7)


def compressor(rng: np.random.Generator, frames: int) -> Wave:
    """Fourteen strokes a second over a low rumble."""
    stroke = np.sin(2 * np.pi * 14 * np.arange(frames) / RATE_HZ) ** 8
    return np.asarray(shaped(rng, frames, 150, 4000) * (0.25 + stroke))


def washer(rng: np.random.Generator, frames: int) -> Wave:
    """The hiss of a pressure washer next door, and its pump."""
    pump = np.sin(2 * np.pi * 100 * np.arange(frames) / RATE_HZ)
    return np.asarray(shaped(rng, frames, 5000, 7800) + 0.4 * pump)


def extractor(rng: np.random.Generator, frames: int) -> Wave:
    """A fan's low roar."""
    return shaped(rng, frames, 300, 6000)


KINDS: dict[str, Callable[[np.random.Generator, int], Wave]] = {
    "polisher": polisher,
    "compressor": compressor,
    "washer": washer,
    "extractor": extractor,
}
"""Machines by name."""


def noise(kind: str, length_s: float, seed: int) -> Samples:
    """One kind of noise at LEVEL_DBFS; the same seed gives the same noise."""
    if kind not in KINDS:
        raise RecipeError(f"expected a noise among {', '.join(KINDS)}, got {kind!r}")
    rng = np.random.default_rng([seed, sorted(KINDS).index(kind)])
    return _level(KINDS[kind](rng, round(length_s * RATE_HZ)))


def babble(talk: Sequence[Path], length_s: float, voices: int, seed: int) -> Samples:
    """`voices` people talking at once, each saying the recordings in an order of his own."""
    if not talk:
        raise RecipeError("expected recordings of talk, got none: make the talk corpus first")
    rng = np.random.default_rng(seed)
    frames = round(length_s * RATE_HZ)
    total = np.zeros(frames)
    for _ in range(voices):
        said: list[NDArray[np.float32]] = []
        while sum(map(len, said)) < frames:
            said.append(read(talk[int(rng.integers(len(talk)))]).values)
        total += np.concatenate(said)[:frames]
    return _level(total)


def mix(speech: Samples, background: Samples, snr_db: float, seed: int) -> Samples:
    """Speech with a piece of the background, `snr_db` below the level of its speaking parts.

    The speaking parts are the 10 ms frames within 25 dB of the loudest; the whole is turned down
    if it would clip. Both at 16 kHz; the background at least as long as the speech.
    """
    spare = len(background.values) - len(speech.values)
    if spare < 0:
        raise RecipeError(
            f"expected a background of at least {len(speech.values)} samples, got "
            f"{len(background.values)}: make a longer one"
        )
    start = int(np.random.default_rng(seed).integers(spare + 1))
    piece = background.values[start : start + len(speech.values)].astype(np.float64)
    gain = active_rms(speech.values) / np.sqrt(np.mean(piece**2)) * ratio(-snr_db)
    mixed = speech.values + piece * gain
    return Samples((mixed / max(1.0, np.abs(mixed).max() / 0.9)).astype(np.float32), RATE_HZ)


def _level(wave: Wave) -> Samples:
    level = ratio(LEVEL_DBFS) / np.sqrt(np.mean(wave**2))
    return Samples((wave * level).astype(np.float32), RATE_HZ)


def _walk(rng: np.random.Generator, frames: int) -> Wave:
    return np.asarray(rng.uniform(-1, 1, len(range(0, frames + 8000, 8000))))


def main(argv: Sequence[str] | None = None) -> int:
    """The command line; gives the exit status."""
    parser = argparse.ArgumentParser(description="Make the noise of a shop")
    parser.add_argument("--into", type=Path, required=True, help="folder for the recordings")
    parser.add_argument("--length-s", type=float, default=60.0)
    parser.add_argument("--talk", type=Path, help="folder of FLAC files of talk, for babble")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(argv)
    made = {kind: noise(kind, options.length_s, options.seed) for kind in KINDS}
    if options.talk is not None:
        try:
            talk = sorted(options.talk.rglob("*.flac"))
            made["babble"] = babble(talk, options.length_s, 6, options.seed)
        except RecipeError as error:
            print(error, file=sys.stderr)
            return 2
    for name, sound in made.items():
        write(options.into / f"{name}.flac", sound)
    print(f"{len(made)} noises of {options.length_s:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
