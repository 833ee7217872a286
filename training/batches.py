"""What the network learns from: recordings on the device, and batches, spoilt each time anew.

Most of every batch is spoilt here (training/augment.py), the rest comes from the suppressor
(training/spoiling.py), which processors run meanwhile.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import torch
from torch import Tensor

from training.acoustics import EVERY, HOP, RATE_HZ, WINDOW
from training.augment import Shop
from training.packing import Said
from training.sound_files import active_rms
from training.spoiling import AROUND, PACE, SNR_DB, Range, some_snr_db

SECONDS_A_BATCH = 900.0
"""Sound that is learnt from at a time: chosen, not measured."""
CLEANED_SHARE = 0.4
"""Of each batch, once the suppressor has done as much: chosen, not measured."""
LIKE_CLEANED_SHARE = 0.6
"""Of the batches whose rest is cleaned too, by what is like a suppressor and far quicker: chosen,
not measured."""
EDGE = 8000
"""Most samples of silence before and behind (half a second), and the step in which batches grow
longer; chosen, as a transform of a new size is slow the first time."""
FULL_SCALE = 32768
"""Of 16-bit samples."""


class Store:
    """Recordings on the device, one behind the other; they come in the order of their length."""

    def __init__(self, said: Sequence[Said], device: str) -> None:
        self.said = said
        self.lengths = np.array([len(one.samples) for one in self.said])
        self._starts = np.concatenate([[0], np.cumsum(self.lengths)[:-1]])
        whole = np.concatenate([one.samples for one in self.said])
        self._sound = torch.from_numpy(whole).to(device)
        self._rms = torch.tensor([active_rms(one.samples / FULL_SCALE) for one in self.said])
        self._device = device

    def rows(self, chosen: np.ndarray, pace: Tensor, lead: Tensor, length: int) -> Tensor:
        """Those at some pace, from `lead` samples on, (rows, length) in -1 to 1."""
        device = self._device
        starts = torch.as_tensor(self._starts[chosen], device=device)[:, None]
        lengths = torch.as_tensor(self.lengths[chosen], device=device)[:, None]
        at = (torch.arange(length, device=device)[None] - lead[:, None]) * pace[:, None]
        inside = (at >= 0) & (at < lengths - 1)
        whole = torch.where(inside, at.long(), 0) + starts
        part = (at - at.floor()) * inside
        near, far = self._sound[whole].float(), self._sound[whole + 1].float()
        return (near * (1 - part) + far * part) * inside / FULL_SCALE

    def rms(self, chosen: np.ndarray) -> Tensor:
        """How loud the speech of each is, (rows, 1)."""
        return self._rms[torch.from_numpy(chosen)][:, None].to(self._device)


@dataclass
class Batch:
    """What the network learns from at once."""

    sound: Tensor
    """(rows, samples), as large as 16-bit ones."""
    frames: Tensor
    """Outputs that belong to each row, on the processor."""
    phones: Tensor
    """Of all rows, one behind the other."""
    counts: Tensor
    """Phones of each row, on the processor."""


class Cleaned:
    """What came from the suppressor, the newest of each recording, on the device."""

    def __init__(self, store: Store, device: str) -> None:
        room = (store.lengths / PACE[0]).astype(int) + 2 + 2 * AROUND
        self._starts = np.concatenate([[0], np.cumsum(room)[:-1]])
        self._sound = torch.zeros(int(room.sum()) + 1, dtype=torch.int16, device=device)
        self.lengths = np.zeros(len(room), int)

    def put(self, found: Sequence[tuple[int, np.ndarray]]) -> None:
        """Each takes the place of the one before."""
        for number, samples in found:
            start = self._starts[number]
            self._sound[start : start + len(samples)] = torch.from_numpy(samples.copy())
            self.lengths[number] = len(samples)

    def rows(self, chosen: np.ndarray, lead: Tensor, length: int) -> Tensor:
        """Those from `lead` samples on, (rows, length), as large as 16-bit ones."""
        device = self._sound.device
        starts, lengths = (
            torch.as_tensor(values[chosen], device=device)[:, None]
            for values in (self._starts, self.lengths)
        )
        at = torch.arange(length, device=device)[None] - lead[:, None]
        inside = (at >= 0) & (at < lengths)
        return self._sound[torch.where(inside, at, 0) + starts].float() * inside


class Batches:
    """Makes batches of neighbours in length, each time spoilt otherwise."""

    def __init__(
        self, store: Store, shop: Shop, device: str, seed: int, snr_db: Range = SNR_DB
    ) -> None:
        self._store, self._shop, self._device = store, shop, device
        self._snr_db = snr_db
        self._rng = np.random.default_rng(seed)
        self.cleaned = Cleaned(store, device)
        needed = store.lengths / PACE[0] + 2 * max(EDGE, AROUND) + EDGE
        self._rooms = (-(-needed.astype(int) // EDGE) * EDGE).astype(int)

    def one(self) -> Batch:
        """The next. Sizes are few, as a transform of a new size is slow the first time."""
        rng, lengths = self._rng, self._store.lengths
        length = int(rng.choice(self._rooms))
        low, high = np.searchsorted(self._rooms, (length, length + 1))
        count = min(max(8, round(SECONDS_A_BATCH * RATE_HZ / length)), high)
        first = min(int(rng.integers(low, high)), high - count)
        chosen = np.arange(first, first + count)
        cleaned = (rng.random(count) < CLEANED_SHARE) & (self.cleaned.lengths[chosen] > 0)
        pace = rng.uniform(*PACE, count)
        lead = rng.integers(0, EDGE, count)
        took = np.where(cleaned, self.cleaned.lengths[chosen], lengths[chosen] / pace)
        ends = np.minimum(lead + took + rng.integers(0, EDGE, count), length).astype(int)
        at = torch.as_tensor(lead, device=self._device)
        loud = 10 ** self._shop.uniform(-0.6, 0.3, count, 1)
        sound = torch.where(
            torch.as_tensor(cleaned, device=self._device)[:, None],
            self.cleaned.rows(chosen, at, length) * loud,
            self._spoilt(chosen, torch.as_tensor(pace, device=self._device).float(), at, length),
        )
        sound = torch.clamp(sound + self._shop.normal(*sound.shape), -FULL_SCALE, FULL_SCALE - 1)
        phones = [self._store.said[number].phones for number in chosen]
        return Batch(
            sound,
            torch.from_numpy(outputs(ends)),
            torch.from_numpy(np.concatenate(phones)),
            torch.tensor([len(one) for one in phones]),
        )

    def _spoilt(self, chosen: np.ndarray, pace: Tensor, lead: Tensor, length: int) -> Tensor:
        shop = self._shop
        sound = shop.voiced(self._store.rows(chosen, pace, lead, length))
        rms, snr_db = self._store.rms(chosen), some_snr_db(shop, len(chosen), self._snr_db)
        beside = shop.cleaned if self._rng.random() < LIKE_CLEANED_SHARE else shop.noisy
        return shop.levelled(beside(sound, rms, snr_db)) * (FULL_SCALE - 1)


def outputs(samples: np.ndarray) -> np.ndarray:
    """Outputs of the network for so many samples."""
    return ((samples - WINDOW) // HOP + 1 + EVERY - 1) // EVERY
