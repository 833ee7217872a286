"""How many phones a network gets wrong, against those that were said."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import torch
from rapidfuzz.distance import Levenshtein
from torch import nn

from training.acoustics import RATE_HZ, Mfcc

LEAD_S = 0.25
"""Silence before each recording: at the ear, speech does not begin with the first sample. Chosen,
not measured."""


def wrong_phones(
    network: nn.Module, mfcc: Mfcc, samples: np.ndarray, phones: Sequence[int] | np.ndarray
) -> int:
    """Edits from what is told of the sound (int16, 16 kHz) to the phones that were said.

    Told are the outputs that come first at each frame, repeats and blanks left out, as in greedy
    decoding (Graves et al., ICML 2006). Network and features are on one device.
    """
    lead = np.zeros(round(LEAD_S * RATE_HZ), np.int16)
    values = np.concatenate([lead, samples]).astype(np.float32)
    sound = torch.from_numpy(values)[None].to(mfcc.window.device)
    with torch.no_grad():
        told = network(mfcc(sound + torch.randn_like(sound)))[0].argmax(-1)
    heard = torch.unique_consecutive(told)
    return int(Levenshtein.distance(heard[heard > 0].tolist(), list(map(int, phones))))
