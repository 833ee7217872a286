"""Train the acoustic model on packed speech, on one GPU; may go on where an earlier run stopped.

    python -m training.train packed/one packed/two --judge packed/held-out --minutes 9 \
        --from 0 --to 0.5 --state state.pt --into result

Most of every batch is spoilt here (training/augment.py), the rest comes from the suppressor
(training/spoiling.py), which processors run meanwhile. `--from` and `--to` say which part of the
whole course this run is, so that several short ones make a long one. The weights are averaged
exponentially; `result/network.pt` holds the average and the priors, and `--judge` prints its phone
errors on speech of speakers that are not trained on.
"""

from __future__ import annotations

import argparse
import copy
import math
import os
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

from training.acoustics import EVERY, HOP, RATE_HZ, TRACTS, WINDOW, Mfcc, Network, Shape, trained
from training.augment import Shop
from training.packing import Said, unpack
from training.sound_files import active_rms
from training.spoiling import AROUND, PACE, Spoilers, some_snr_db
from training.variation import hidden, varied

SECONDS_A_BATCH = 900.0
LONGEST_S = 12.0
PEAK_RATE = 2.5e-3
WARM_STEPS = 300
KEPT = 0.9995
"""Of the average, at each step."""
CLEANED_SHARE = 0.4
"""Of each batch, once the suppressor has done as much."""
LIKE_CLEANED_SHARE = 0.6
"""Of the batches whose rest is cleaned too, by what is like a suppressor and far quicker."""
STEPS_A_FETCH = 10
EDGE = 8000
"""Most samples of silence before and behind, and the step in which batches grow longer."""


class Store:
    """Recordings on the device, one behind the other; they come in the order of their length."""

    def __init__(self, said: Sequence[Said], device: str) -> None:
        self.said = said
        self.lengths = np.array([len(one.samples) for one in self.said])
        self._starts = np.concatenate([[0], np.cumsum(self.lengths)[:-1]])
        whole = np.concatenate([one.samples for one in self.said])
        self._sound = torch.from_numpy(whole).to(device)
        self._rms = torch.tensor([active_rms(one.samples / 32768) for one in self.said])
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
        return (near * (1 - part) + far * part) * inside / 32768

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

    def __init__(self, store: Store, shop: Shop, device: str, seed: int) -> None:
        self._store, self._shop, self._device = store, shop, device
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
        sound = torch.clamp(sound + self._shop.normal(*sound.shape), -32768, 32767)
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
        rms, snr_db = self._store.rms(chosen), some_snr_db(shop, len(chosen))
        beside = shop.cleaned if self._rng.random() < LIKE_CLEANED_SHARE else shop.noisy
        return shop.levelled(beside(sound, rms, snr_db)) * 32767


def outputs(samples: np.ndarray) -> np.ndarray:
    """Outputs of the network for so many samples."""
    return ((samples - WINDOW) // HOP + 1 + EVERY - 1) // EVERY


class Course:
    """The training: network, average, optimiser, and how far it has come."""

    def __init__(
        self, shape: Shape, device: str, *, varied: bool = True, peak_rate: float = PEAK_RATE
    ) -> None:
        self._varied = varied
        self._peak_rate = peak_rate
        self.network = Network(shape).to(device)
        self.average = copy.deepcopy(self.network).eval()
        self.optimiser = torch.optim.AdamW(self.network.parameters(), peak_rate, weight_decay=1e-2)
        self.mfcc = Mfcc().to(device)
        self.step = 0
        self._device = device
        self._rng = np.random.default_rng(5)

    def measure(self, batches: Batches) -> None:
        """Find mean and deviation of the features."""
        features = torch.cat([self.mfcc(batches.one().sound).flatten(0, 1) for _ in range(4)])
        for network in (self.network, self.average):
            network.mean.copy_(features.mean(0))
            network.deviation.copy_(features.std(0))

    def begin(self, path: Path) -> None:
        """With the weights of a trained network, of the same shape."""
        network, _ = trained(path)
        for mine in (self.network, self.average):
            mine.load_state_dict(network.state_dict())

    def load(self, path: Path) -> None:
        """Go on from there."""
        state = torch.load(path, map_location=self._device, weights_only=True)
        self.network.load_state_dict(state["network"])
        self.average.load_state_dict(state["average"])
        self.optimiser.load_state_dict(state["optimiser"])
        self.step = state["step"]

    def save(self, path: Path) -> None:
        """All that load needs."""
        parts = {"network": self.network, "average": self.average, "optimiser": self.optimiser}
        state = {name: part.state_dict() for name, part in parts.items()}
        torch.save({**state, "step": self.step}, path)

    def learn(self, batch: Batch, done: float) -> Tensor:
        """One step, at such a part of the course; gives the loss."""
        warm = min(1.0, (self.step + 1) / WARM_STEPS)
        rate = self._peak_rate * warm * (0.5 + 0.5 * math.cos(math.pi * done)) + 1e-6
        for group in self.optimiser.param_groups:
            group["lr"] = rate
        self.network.train()
        features = self._features(batch.sound)
        with torch.autocast(self._device, torch.bfloat16, enabled=self._device == "cuda"):
            told = self.network(features)
        loss = functional.ctc_loss(
            told.float().transpose(0, 1),
            batch.phones.to(self._device),
            batch.frames.to(self._device).clamp(max=told.shape[1]),
            batch.counts.to(self._device),
            zero_infinity=True,
        )
        self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.network.parameters(), 5.0)
        self.optimiser.step()
        self.step += 1
        self._follow()
        return loss.detach()

    def _features(self, sound: Tensor) -> Tensor:
        """As said by some other throat, at some other rhythm, and not all of it to be heard."""
        if not self._varied:
            return torch.as_tensor(self.mfcc.cepstra(hidden(self.mfcc.bands(sound), self._rng)))
        tracts = torch.from_numpy(self._rng.integers(0, len(TRACTS), len(sound)))
        bands = self.mfcc.bands(sound, tracts.to(self._device))
        return torch.as_tensor(self.mfcc.cepstra(varied(bands, self._rng)))

    def _follow(self) -> None:
        kept = min(KEPT, (self.step + 1) / (self.step + 10))
        with torch.no_grad():
            pairs = zip(
                self.average.state_dict().values(), self.network.state_dict().values(), strict=True
            )
            for mine, theirs in pairs:
                if mine.is_floating_point():
                    mine.lerp_(theirs, 1 - kept)
                else:
                    mine.copy_(theirs)

    def priors(self, batches: Batches) -> np.ndarray:
        """How often each output is told, over what is trained on."""
        total = torch.zeros(1, device=self._device)
        with torch.no_grad():
            for _ in range(12):
                batch = batches.one()
                told = self.average(self.mfcc(batch.sound)).exp()
                kept = torch.arange(told.shape[1])[None] < batch.frames[:, None]
                total = total + (told * kept.to(self._device)[..., None]).sum((0, 1))
        return np.asarray((total / total.sum()).cpu())

    def errors(self, held: Sequence[Said]) -> float:
        """Wrong, missing and superfluous phones among those said, without any spoiling."""
        wrong = said = 0
        for one in held:
            samples = torch.from_numpy(one.samples.astype(np.float32))[None].to(self._device)
            with torch.no_grad():
                told = self.average(self.mfcc(samples + torch.randn_like(samples)))[0].argmax(-1)
            heard = torch.unique_consecutive(told)
            wrong += distance(heard[heard > 0].tolist(), one.phones.tolist())
            said += len(one.phones)
        return wrong / max(1, said)


def distance(one: Sequence[int], other: Sequence[int]) -> int:
    """Levenshtein's."""
    row = list(range(len(other) + 1))
    for at, mine in enumerate(one, 1):
        before, row[0] = row[0], at
        for to, theirs in enumerate(other, 1):
            before, row[to] = row[to], min(row[to] + 1, row[to - 1] + 1, before + (mine != theirs))
    return row[-1]


def train(course: Course, batches: Batches, spoilers: Spoilers | None, options: Any) -> None:
    """Until the time is over."""
    began = told_at = time.monotonic()
    losses: list[Tensor] = []
    while (passed := (time.monotonic() - began) / 60 / options.minutes) < 1:
        if spoilers is not None and course.step % STEPS_A_FETCH == 0:
            batches.cleaned.put(spoilers.fetch())
        losses.append(
            course.learn(batches.one(), options.start + passed * (options.to - options.start))
        )
        if time.monotonic() - told_at > 20:
            told_at = time.monotonic()
            loss = float(torch.stack(losses).mean())
            ready = int((batches.cleaned.lengths > 0).sum())
            print(
                f"step {course.step}, {100 * passed:.0f} %, loss {loss:.3f}, {ready} cleaned",
                flush=True,
            )
            losses = []


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("packs", type=Path, nargs="+")
    parser.add_argument("--judge", type=Path, action="append", default=[])
    parser.add_argument("--minutes", type=float, required=True)
    parser.add_argument("--from", dest="start", type=float, default=0.0)
    parser.add_argument("--to", type=float, default=1.0)
    parser.add_argument("--begin", type=Path, help="a network to begin with, of the same shape")
    parser.add_argument("--rate", type=float, default=PEAK_RATE, help="of learning, at its highest")
    parser.add_argument("--state", type=Path, required=True)
    parser.add_argument("--into", type=Path, required=True)
    parser.add_argument("--width", type=int, default=Shape.width)
    parser.add_argument("--narrow", type=int, default=Shape.narrow)
    parser.add_argument("--blocks", type=int, default=len(Shape().reach))
    parser.add_argument("--processes", type=int, default=max(1, (os.cpu_count() or 2) - 3))
    parser.add_argument("--unvaried", action="store_true", help="leave throats and rhythm alone")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(options.seed)
    said = [one for pack in options.packs for one in unpack(pack)]
    said = [one for one in said if len(one.samples) < LONGEST_S * RATE_HZ]
    said.sort(key=lambda one: len(one.samples))
    spoilers = None
    if options.processes:
        spoilers = Spoilers([one.samples for one in said], options.processes, options.seed)
    store = Store(said, device)
    hours = store.lengths.sum() / RATE_HZ / 3600
    print(f"{len(said)} recordings, {hours:.2f} h, on {device}", flush=True)
    batches = Batches(store, Shop(device, options.seed), device, options.seed)
    shape = Shape(options.width, options.narrow, (3,) * options.blocks)
    course = Course(shape, device, varied=not options.unvaried, peak_rate=options.rate)
    if options.start > 0:
        course.load(options.state)
    elif options.begin is not None:
        course.begin(options.begin)
    else:
        course.measure(batches)
    train(course, batches, spoilers, options)
    course.save(options.state)
    result = {
        "shape": asdict(course.network.shape),
        "weights": course.average.state_dict(),
        "priors": course.priors(batches),
    }
    if spoilers is not None:
        spoilers.close()
    options.into.mkdir(parents=True, exist_ok=True)
    torch.save(result, options.into / "network.pt")
    for pack in options.judge:
        print(f"{pack.name}: {100 * course.errors(list(unpack(pack))):.1f} % of phones wrong")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
