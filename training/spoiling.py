"""Speech as the ear gets it beside machines: spoilt, then cleaned by the suppressor that ships.

The suppressor runs on processors, so this goes on in processes of its own beside the training.
Where it takes away words as well, which it does to muffled and to faint voices even in a quiet
room, nothing is to be learnt but to hear words in silence: such recordings are left out.
"""

from __future__ import annotations

import multiprocessing
import queue
from collections.abc import Sequence
from typing import Any

import numpy as np
import torch

from bayhelper.hear.capture.denoise import StreamSuppressor
from bayhelper.hear.capture.denoising_networks import RNNOISE, RNNoise
from training.augment import GONE_DB, MOST_LOST, SPEECH_DB, Shop
from training.sound_files import RATE_HZ, active_rms, frame_rms

Range = tuple[float, float]
"""The lowest and the highest of what is spread evenly."""
TOGETHER = 16
"""Recordings spoilt at once; they lend one another their voices. Chosen, not measured."""
RUN_UP_S = 1.0
"""Noise before the speech, in which the suppressor learns it: chosen, not measured."""
SNR_DB: Range = (-3.0, 20.0)
"""Noise below speech in the last course, -2 to 26 before. With more of it 47 orders of 60 were read
in a kitchen at 6 dB instead of 38 (benchmarks/results/acoustic-model.md)."""
QUIET_SHARE, QUIET_DB = 0.15, 45.0
"""Of what is spoilt, so much hardly is: chosen, not measured."""
PACE: Range = (0.84, 1.2)
"""Times as fast and as high; chosen, not measured."""
LEVEL_DB: Range = (-40.0, -8.0)
"""Peak below full scale, before it is cleaned; common practice, no source."""
FRAME_S = 0.02
"""Seconds over which levels before and behind the suppressor are compared; common practice."""
AROUND = 8000
"""Most samples of what is left of the noise that are kept before the speech, and behind it: half a
second, chosen, not measured."""
EVEN = 1600
"""Lengths are multiples of it, so that transforms are quick; chosen."""
WAITING = 400
"""Recordings that may wait to be fetched, by process: chosen, not measured."""


def even(length: int) -> int:
    """The next length that is quickly transformed."""
    return -(-length // EVEN) * EVEN


def paced(samples: np.ndarray, pace: float) -> np.ndarray:
    """Faster and higher, or slower and deeper."""
    count = int(len(samples) / pace)
    at = np.arange(count) * pace
    return np.asarray(np.interp(at, np.arange(len(samples)), samples), np.float32)


def some_snr_db(shop: Shop, count: int, snr_db: Range = SNR_DB) -> torch.Tensor:
    """How far the noise is below the speech, (count, 1), in decibels."""
    found_db = shop.uniform(*snr_db, count, 1)
    return torch.where(shop.chance(QUIET_SHARE, count), QUIET_DB, found_db)


def spoilt(
    recordings: Sequence[np.ndarray],
    shop: Shop,
    rng: np.random.Generator,
    snr_db: Range = SNR_DB,
) -> list[np.ndarray]:
    """Each of them (int16) in noise and cleaned again, int16, with some of the noise around it.

    One that too much was taken from comes back empty.
    """
    voices = [paced(one / 32768, rng.uniform(*PACE)) for one in recordings]
    run_up = round(RUN_UP_S * RATE_HZ)
    around = rng.integers(0, AROUND, (len(voices), 2))
    length = even(run_up + max(map(len, voices)) + 2 * AROUND)
    sound = torch.zeros(len(voices), length)
    for row, (voice, (before, _)) in enumerate(zip(voices, around, strict=True)):
        sound[row, run_up + before : run_up + before + len(voice)] = torch.from_numpy(voice)
    speech_rms = torch.tensor([[active_rms(voice)] for voice in voices])
    noisy = shop.noisy(shop.voiced(sound), speech_rms, some_snr_db(shop, len(voices), snr_db))
    gain = 10 ** (shop.uniform(*LEVEL_DB, len(voices), 1) / 20) / noisy.abs().amax(1, keepdim=True)
    pcm = (noisy * gain * 32767).round().to(torch.int16).numpy()
    made = []
    for row, voice, (before, after) in zip(pcm, voices, around, strict=True):
        left = cleaned(row[: run_up + before + len(voice) + after])[run_up:]
        spared = lost(voice * 32768, left[before : before + len(voice)]) <= MOST_LOST
        made.append(left if spared else left[:0])
    return made


def lost(voice: np.ndarray, cleaned_voice: np.ndarray) -> float:
    """Share of the frames with speech that are no longer there; both have the same beginning.

    What fared like the best tenth of them counts as untouched.
    """
    before, after = _levels_db(voice), _levels_db(cleaned_voice)
    count = min(len(before), len(after))
    change_db = (after[:count] - before[:count])[before[:count] > before.max() - SPEECH_DB]
    return float(np.mean(change_db < np.percentile(change_db, 90) - GONE_DB))


def _levels_db(samples: np.ndarray) -> np.ndarray:
    return np.asarray(10 * np.log10(frame_rms(samples, FRAME_S) ** 2 + 1e-12))


def cleaned(samples: np.ndarray) -> np.ndarray:
    """Behind the suppressor, int16."""
    with StreamSuppressor(RNNOISE, RNNoise()) as suppressor:
        pcm = suppressor.feed(samples.tobytes()) + suppressor.finish()
    return np.frombuffer(pcm, "<i2")


class Spoilers:
    """Processes that spoil recordings without end."""

    def __init__(
        self, recordings: Sequence[np.ndarray], processes: int, seed: int, snr_db: Range = SNR_DB
    ) -> None:
        context = multiprocessing.get_context("fork")
        self._done: Any = context.Queue(WAITING * processes // TOGETHER)
        self._workers = [
            context.Process(
                target=_work, args=(recordings, self._done, seed + number, snr_db), daemon=True
            )
            for number in range(processes)
        ]
        for worker in self._workers:
            worker.start()

    def fetch(self) -> list[tuple[int, np.ndarray]]:
        """What is ready, by number of the recording."""
        found: list[tuple[int, np.ndarray]] = []
        try:
            while len(found) < WAITING:
                found += self._done.get_nowait()
        except queue.Empty:
            pass
        return found

    def close(self) -> None:
        """Stop them."""
        for worker in self._workers:
            worker.terminate()


def _work(recordings: Sequence[np.ndarray], done: Any, seed: int, snr_db: Range) -> None:
    torch.set_num_threads(1)
    rng = np.random.default_rng(seed)
    shop = Shop("cpu", seed)
    by_length = np.argsort([len(one) for one in recordings])
    while True:
        first = int(rng.integers(max(1, len(recordings) - TOGETHER)))
        chosen = by_length[first : first + TOGETHER]
        made = spoilt([recordings[number] for number in chosen], shop, rng, snr_db)
        done.put([(int(number), one) for number, one in zip(chosen, made, strict=True) if len(one)])
