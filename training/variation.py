"""One recording, said otherwise each time: other throats, rhythms, and stretches not to be heard.

All of it on what the features are made from, the logarithms of the mel bands, (rows, frames, bands)
with the time along the second axis.
"""

from __future__ import annotations

import math

import numpy as np
import torch
from torch import Tensor

SWAY, SWAY_FRAMES = 0.35, (60.0, 250.0)
"""How much faster or slower speech becomes for a while, and over how long that comes and goes."""
CONTRAST = (0.85, 1.15)
"""By how much every band is spread around its mean."""
SPANS, LONGEST_SPAN = 2, 18
"""Stretches of time put out of sight, and frames of the longest."""
BANDS, WIDEST_BAND = 2, 7
"""The same of neighbouring bands."""


def varied(bands: Tensor, rng: np.random.Generator) -> Tensor:
    """All of the below."""
    return hidden(contrasted(unevenly(bands, rng), rng), rng)


def hidden(bands: Tensor, rng: np.random.Generator) -> Tensor:
    """With stretches of time and some bands laid to the mean of the row.

    After Park et al., 'SpecAugment', Interspeech 2019.
    """
    rows, frames, count = bands.shape
    out = _stretches(rows, frames, SPANS, LONGEST_SPAN, rng)[:, :, None]
    out = out | _stretches(rows, count, BANDS, WIDEST_BAND, rng)[:, None]
    return torch.where(torch.from_numpy(out).to(bands.device), bands.mean(1, keepdim=True), bands)


def _stretches(
    rows: int, length: int, most: int, longest: int, rng: np.random.Generator
) -> np.ndarray:
    wide = rng.integers(0, longest, (rows, most, 1))
    first = (rng.random((rows, most, 1)) * np.maximum(1, length - wide)).astype(int)
    at = np.arange(length)[None, None]
    return np.asarray(((at >= first) & (at < first + wide)).any(1))


def contrasted(bands: Tensor, rng: np.random.Generator) -> Tensor:
    """With peaks higher over valleys, or lower: sharper or duller voices."""
    spread = torch.from_numpy(rng.uniform(*CONTRAST, (len(bands), 1, 1)).astype(np.float32))
    mean = bands.mean(1, keepdim=True)
    return mean + (bands - mean) * spread.to(bands.device)


def unevenly(bands: Tensor, rng: np.random.Generator) -> Tensor:
    """Said now faster, now slower: every row drawn out and pressed together as it goes along."""
    rows, frames, _ = bands.shape
    period = rng.uniform(*SWAY_FRAMES, (rows, 1))
    most = rng.uniform(0, SWAY, (rows, 1)) * period / (2 * math.pi)
    at = np.arange(frames)[None]
    at = at + most * np.sin(2 * math.pi * (at / period + rng.random((rows, 1))))
    at = np.clip(at, 0, frames - 1.001)
    whole = torch.from_numpy(at.astype(int)).to(bands.device)[..., None]
    part = torch.from_numpy((at % 1).astype(np.float32)).to(bands.device)[..., None]
    near, far = (torch.gather(bands, 1, (whole + ahead).expand_as(bands)) for ahead in (0, 1))
    return near * (1 - part) + far * part
