"""The acoustic model: features as Kaldi computes them, and the network, in PyTorch.

The features are Kaldi's MFCC with 40 coefficients (its `compute-mfcc-feats` with the options of
training/kaldi_model.py), so that Vosk hands the network what it was trained on. The network is a
factored time-delay one (Povey et al., 'Semi-orthogonal low-rank matrix factorization for deep
neural networks', Interspeech 2018), without the constraint, trained as a connectionist temporal
classifier (Graves et al., ICML 2006): 40 outputs every 30 ms, the blank and 39 phones.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from bayhelper.hear.engines.phones import PHONES
from training.kaldi_model import Layer

RATE_HZ = 16_000
"""Of the sound, as Vosk reads it."""
WINDOW, HOP, FFT = 400, 160, 512
"""Samples: Kaldi's own 25 ms every 10 ms, and the next power of two."""
COEFFICIENTS = 40
"""Kaldi's high-resolution features have as many (its conf/mfcc_hires.conf, from memory)."""
LOW_HZ, HIGH_HZ = 20.0, 7600.0
"""Of the mel bands: as the same file has the lower one, and 400 Hz below the highest there is."""
EVERY = 3
"""Frames of 10 ms to each output."""
OUTPUTS = 1 + len(PHONES)
"""The blank and every phone."""
BYPASS = 0.66
"""Share of a block's input added to its output: Kaldi's own recipes take it (from memory)."""
TRACTS = tuple(0.88 + 0.024 * step for step in range(11))
"""By how much the formants may be moved, as by a shorter or longer vocal tract; the sixth is 1."""
TRACT_CORNER_HZ = 4800.0
"""Jaitly and Hinton's corner (from memory); above it the factor fades."""
LEAST = 1.1920929e-07
"""Energy below which Kaldi takes no logarithm."""


@dataclass(frozen=True)
class Shape:
    """How large the network is."""

    width: int = 640
    """Outputs of each block."""
    narrow: int = 160
    """Outputs of the linear layer inside each block."""
    reach: tuple[int, ...] = (3,) * 7
    """By block, over how many frames each of its two layers looks: back, then ahead."""


class Mfcc(nn.Module):
    """Sound as large as 16-bit samples, (batch, samples), to (batch, frames, 40)."""

    def __init__(self) -> None:
        super().__init__()
        self.register_buffer("banks", torch.stack([_mel_banks(tract) for tract in TRACTS]))
        steps = torch.arange(COEFFICIENTS, dtype=torch.float64)
        cosines = torch.cos(math.pi / COEFFICIENTS * (steps[None] + 0.5) * steps[:, None])
        scale = torch.full((COEFFICIENTS, 1), math.sqrt(2 / COEFFICIENTS), dtype=torch.float64)
        scale[0] = math.sqrt(1 / COEFFICIENTS)
        lifter = 1 + 11 * torch.sin(math.pi * steps / 22)
        self.register_buffer("cosines", (cosines * scale * lifter[:, None]).float())
        angle = 2 * math.pi * torch.arange(WINDOW, dtype=torch.float64) / (WINDOW - 1)
        self.register_buffer("window", (0.5 - 0.5 * torch.cos(angle)).pow(0.85).float())

    def forward(self, sound: Tensor) -> Tensor:
        return self.cepstra(self.bands(sound))

    def bands(self, sound: Tensor, tracts: Tensor | None = None) -> Tensor:
        """Logarithms of the energy in each mel band, (batch, frames, 40).

        The formants of each row are moved by that one of TRACTS.
        """
        frames = sound.unfold(1, WINDOW, HOP)
        frames = frames - frames.mean(-1, keepdim=True)
        first = frames[..., :1] * (1 - 0.97)
        frames = torch.cat([first, frames[..., 1:] - 0.97 * frames[..., :-1]], -1) * self.window
        power = torch.fft.rfft(frames, FFT).abs().square()
        banks = self.banks[len(TRACTS) // 2 if tracts is None else tracts]
        return torch.log(torch.clamp(power @ banks.mT, min=LEAST))

    def cepstra(self, bands: Tensor) -> Tensor:
        """The features that belong to them."""
        return bands @ self.cosines.T


def _mel_banks(tract: float) -> Tensor:
    """Triangles of equal width in mel, (40, 257), of formants moved by a factor.

    Moved as by Jaitly and Hinton, 'Vocal tract length perturbation improves speech recognition'
    (ICML workshop on deep learning for audio, 2013): in proportion up to a corner, then linearly
    so that the highest frequency stays.
    """

    def mel(hz: Any) -> Any:
        return 1127.0 * torch.log1p(torch.as_tensor(hz, dtype=torch.float64) / 700.0)

    low, high = mel(LOW_HZ), mel(HIGH_HZ)
    width = (high - low) / (COEFFICIENTS + 1)
    hz, highest = torch.arange(FFT // 2 + 1) * RATE_HZ / FFT, RATE_HZ / 2
    corner = TRACT_CORNER_HZ * min(tract, 1) / tract
    above = highest - (highest - TRACT_CORNER_HZ * min(tract, 1)) / (highest - corner) * (
        highest - hz
    )
    at = mel(torch.where(hz <= corner, hz * tract, above))[None]
    left = low + torch.arange(COEFFICIENTS)[:, None] * width
    rise, fall = (at - left) / width, (left + 2 * width - at) / width
    banks = torch.clamp(torch.minimum(rise, fall), min=0)
    banks[:, -1] = 0
    return banks.float()


class Block(nn.Module):
    """A narrow linear layer that looks back, a wide one that looks ahead, and the way past them.

    Everything is (batch, time, width) and a matrix product: quicker than convolutions here.
    """

    def __init__(self, shape: Shape, reach: int) -> None:
        super().__init__()
        self.narrow = nn.Linear(2 * shape.width, shape.narrow, bias=False)
        self.wide = nn.Linear(2 * shape.narrow, shape.width)
        self.norm = nn.BatchNorm1d(shape.width)
        self.drop = nn.Dropout(0.1)
        self.far = reach // EVERY

    def forward(self, x: Tensor) -> Tensor:
        past = x[:, self.far : x.shape[1] - self.far]
        thin = self.narrow(_beside(x, (0, self.far)))
        wide = self.wide(_beside(thin, (0, self.far)))
        return self.drop(_normed(wide, self.norm)) + BYPASS * past


def _beside(x: Tensor, offsets: Sequence[int], every: int = 1) -> Tensor:
    """Frames side by side, as Kaldi appends them."""
    count = (x.shape[1] - max(offsets) - 1) // every + 1
    return torch.cat([x[:, at : at + every * (count - 1) + 1 : every] for at in offsets], -1)


def _normed(x: Tensor, norm: nn.BatchNorm1d) -> Tensor:
    return torch.relu(norm(x.flatten(0, 1)).view_as(x))


class Network(nn.Module):
    """(batch, frames, 40) to logarithms of probabilities, (batch, ceil(frames / 3), 40)."""

    def __init__(self, shape: Shape | None = None) -> None:
        super().__init__()
        self.shape = shape = shape or Shape()
        self.register_buffer("mean", torch.zeros(COEFFICIENTS))
        self.register_buffer("deviation", torch.ones(COEFFICIENTS))
        self.first = nn.Linear(5 * COEFFICIENTS, shape.width)
        self.first_norm = nn.BatchNorm1d(shape.width)
        self.thin = nn.Linear(3 * shape.width, shape.narrow, bias=False)
        self.widen = nn.Linear(shape.narrow, shape.width)
        self.widen_norm = nn.BatchNorm1d(shape.width)
        self.blocks = nn.ModuleList(Block(shape, reach) for reach in shape.reach)
        self.last = nn.Linear(shape.width, OUTPUTS)

    @property
    def reach(self) -> int:
        """Frames of 10 ms that the network looks back, and as many ahead."""
        return 3 + sum(self.shape.reach)

    def forward(self, features: Tensor) -> Tensor:
        count = (features.shape[1] + EVERY - 1) // EVERY
        missing = EVERY * (count - 1) + 1 - features.shape[1]
        ends = features[:, :1], features[:, -1:]
        before, after = (
            end.expand(-1, length, -1)
            for end, length in zip(ends, (self.reach, self.reach + missing), strict=True)
        )
        x = (torch.cat([before, features, after], 1) - self.mean) / self.deviation
        x = _normed(self.first(_beside(x, range(5))), self.first_norm)
        x = _normed(self.widen(self.thin(_beside(x, range(3), EVERY))), self.widen_norm)
        for block in self.blocks:
            x = block(x)
        return functional.log_softmax(self.last(x).float(), -1)


def trained(path: Path) -> tuple[Network, np.ndarray]:
    """A network as training/train.py writes it, and how often it tells each output."""
    # Not weights alone: the priors are a NumPy array.
    result = torch.load(path, map_location="cpu", weights_only=False)
    network = Network(Shape(**result["shape"]))
    network.load_state_dict(result["weights"])
    return network.eval(), result["priors"]


def folded(network: Network) -> list[Layer]:
    """The network in the layers of training/kaldi_model.py, every normalisation folded in."""
    network = network.double().cpu().eval()
    weight = network.first.weight / network.deviation.repeat(5)
    bias = network.first.bias - weight @ network.mean.repeat(5)
    layers = [
        _layer("first", (-2, -1, 0, 1, 2), *_folded(weight, bias, network.first_norm), relu=True),
        _layer("thin", (-1, 0, 1), network.thin.weight, None),
        _layer(
            "widen",
            (0,),
            *_folded(network.widen.weight, network.widen.bias, network.widen_norm),
            relu=True,
        ),
    ]
    before = "widen"
    for number, block in enumerate(network.blocks):
        reach = block.far * EVERY
        weights = _folded(block.wide.weight, block.wide.bias, block.norm)
        layers += [
            _layer(f"narrow{number}", (-reach, 0), block.narrow.weight, None),
            _layer(f"wide{number}", (0, reach), *weights, relu=True, bypass=(before, BYPASS)),
        ]
        before = f"wide{number}"
    return [*layers, _layer("last", (0,), network.last.weight, network.last.bias)]


def _folded(weight: Tensor, bias: Tensor, norm: nn.BatchNorm1d) -> tuple[Tensor, Tensor]:
    gain = norm.weight / torch.sqrt(norm.running_var + norm.eps)
    return weight * gain[:, None], (bias - norm.running_mean) * gain + norm.bias


def _layer(
    name: str,
    offsets: tuple[int, ...],
    weight: Tensor,
    bias: Tensor | None,
    *,
    relu: bool = False,
    bypass: tuple[str, float] | None = None,
) -> Layer:
    shift = torch.zeros(len(weight)) if bias is None else bias.detach()
    return Layer(
        name, offsets, weight.detach().float().numpy(), shift.float().numpy(), relu, bypass
    )
