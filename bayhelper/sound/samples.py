"""Sixteen-bit sound as float samples, and back."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

PEAK = 32_767
"""The greatest sample of 16 bits. By this as 1 sound comes in from files and microphones."""
STEPS = 32_768
"""Steps of 16 bits to either side of 0. By this as 1 sound goes to networks and loudspeakers."""


def floats(pcm: bytes, one: int) -> NDArray[np.float32]:
    """Signed 16-bit little-endian samples as float32, shape (frames,); `one` becomes 1.0."""
    return np.frombuffer(pcm, "<i2").astype(np.float32) / np.float32(one)


def pcm16(samples: NDArray[np.float32], one: int) -> bytes:
    """Float samples, shape (frames,), as signed 16-bit ones; 1.0 becomes `one`, more is clipped."""
    return np.clip(np.round(samples * one), -STEPS, PEAK).astype("<i2").tobytes()
