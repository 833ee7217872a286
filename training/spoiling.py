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
from training.augment import GONE_DB, MOST_LOST, RATE_HZ, SPEECH_DB, Shop
from training.sound_files import active_rms

TOGETHER = 16
"""Recordings spoilt at once; they lend one another their voices."""
RUN_UP_S = 1.0
"""Noise before the speech, in which the suppressor learns it."""
SNR_DB = (-3.0, 20.0)
QUIET_SHARE, QUIET_DB = 0.15, 45.0
"""Of what is spoilt, so much hardly is."""
PACE = (0.84, 1.2)
LEVEL_DB = (-40.0, -8.0)
"""Peak, before it is cleaned."""
FRAME = 320
AROUND = 8000
"""Most samples of what is left of the noise that are kept before the speech, and behind it."""
EVEN = 1600
WAITING = 400
"""Recordings that may wait to be fetched, by process."""


def even(length: int) -> int:
    """The next length that is quickly transformed."""
    return -(-length // EVEN) * EVEN


def paced(samples: np.ndarray, pace: float) -> np.ndarray:
    """Faster and higher, or slower and deeper."""
    count = int(len(samples) / pace)
    at = np.arange(count) * pace
    return np.interp(at, np.arange(len(samples)), samples).astype(np.float32)


def some_snr_db(shop: Shop, count: int) -> torch.Tensor:
    """How far the noise is below the speech, (count, 1)."""
    snr_db = shop.uniform(*SNR_DB, count, 1)
    return torch.where(shop.chance(QUIET_SHARE, count), QUIET_DB, snr_db)


def spoilt(
    recordings: Sequence[np.ndarray], shop: Shop, rng: np.random.Generator
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
    noisy = shop.noisy(shop.voiced(sound), speech_rms, some_snr_db(shop, len(voices)))
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
    frames = samples[: len(samples) // FRAME * FRAME].astype(np.float64).reshape(-1, FRAME)
    return np.asarray(10 * np.log10(np.square(frames).mean(1) + 1e-12))


def cleaned(samples: np.ndarray) -> np.ndarray:
    """Behind the suppressor, int16."""
    with StreamSuppressor(RNNOISE, RNNoise()) as suppressor:
        pcm = suppressor.feed(samples.tobytes()) + suppressor.finish()
    return np.frombuffer(pcm, "<i2")


class Spoilers:
    """Processes that spoil recordings without end."""

    def __init__(self, recordings: Sequence[np.ndarray], processes: int, seed: int) -> None:
        context = multiprocessing.get_context("fork")
        self._done: Any = context.Queue(WAITING * processes // TOGETHER)
        self._workers = [
            context.Process(target=_work, args=(recordings, self._done, seed + number), daemon=True)
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


def _work(recordings: Sequence[np.ndarray], done: Any, seed: int) -> None:
    torch.set_num_threads(1)
    rng = np.random.default_rng(seed)
    shop = Shop("cpu", seed)
    by_length = np.argsort([len(one) for one in recordings])
    while True:
        first = int(rng.integers(max(1, len(recordings) - TOGETHER)))
        chosen = by_length[first : first + TOGETHER]
        made = spoilt([recordings[number] for number in chosen], shop, rng)
        done.put([(int(number), one) for number, one in zip(chosen, made, strict=True) if len(one)])
