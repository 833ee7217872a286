"""One course of training: the network, the average of its weights, and how far it has come."""

from __future__ import annotations

import copy
import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

from training.acoustics import TRACTS, Mfcc, Network, Shape, trained
from training.batches import Batch, Batches
from training.packing import Said
from training.scoring import wrong_phones
from training.variation import hidden, varied

WARM_STEPS = 300
"""Over so many the rate rises to its peak: common practice, no source."""
LEAST_RATE = 1e-6
"""Added to the rate, so that the last steps still learn: common practice, no source."""
WEIGHT_DECAY = 1e-2
"""PyTorch's own default for AdamW (Loshchilov and Hutter, ICLR 2019)."""
STEEPEST = 5.0
"""Norm that a step's gradient is cut to: common practice, no source."""
KEPT = 0.9995
"""Of the average, at each step, so that it spans about 2,000 steps: chosen, not measured."""
PRIOR_BATCHES = 12
"""Batches over which the outputs are counted: three hours of sound; chosen."""
FEATURE_BATCHES = 4
"""Batches that mean and deviation of the features come from: an hour of sound; chosen."""
VARIATION_SEED = 5
"""Of what training/variation.py varies; any would do."""


class Course:
    """The training: network, average, optimiser, and how far it has come."""

    def __init__(self, shape: Shape, device: str, *, peak_rate: float, varied: bool = True) -> None:
        self._varied = varied
        self._peak_rate = peak_rate
        self.network = Network(shape).to(device)
        self.average = copy.deepcopy(self.network).eval()
        self.optimiser = torch.optim.AdamW(
            self.network.parameters(), peak_rate, weight_decay=WEIGHT_DECAY
        )
        self.mfcc = Mfcc().to(device)
        self.step = 0
        self._device = device
        self._rng = np.random.default_rng(VARIATION_SEED)

    def measure(self, batches: Batches) -> None:
        """Find mean and deviation of the features."""
        features = torch.cat(
            [self.mfcc(batches.one().sound).flatten(0, 1) for _ in range(FEATURE_BATCHES)]
        )
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
        rate = self._peak_rate * warm * (0.5 + 0.5 * math.cos(math.pi * done)) + LEAST_RATE
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
        torch.nn.utils.clip_grad_norm_(self.network.parameters(), STEEPEST)
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
            for _ in range(PRIOR_BATCHES):
                batch = batches.one()
                told = self.average(self.mfcc(batch.sound)).exp()
                kept = torch.arange(told.shape[1])[None] < batch.frames[:, None]
                total = total + (told * kept.to(self._device)[..., None]).sum((0, 1))
        return np.asarray((total / total.sum()).cpu())

    def errors(self, held: Sequence[Said]) -> float:
        """Wrong, missing and superfluous phones among those said, without any spoiling."""
        wrong = sum(wrong_phones(self.average, self.mfcc, one.samples, one.phones) for one in held)
        return wrong / max(1, sum(len(one.phones) for one in held))
