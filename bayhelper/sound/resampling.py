"""Sound of one rate at another, by libsoxr: as it comes, or all at once."""

from __future__ import annotations

import numpy as np
import soxr
from numpy.typing import NDArray


class Resampler:
    """Float samples of one rate in, of another out, as they come; of the same rate as they are."""

    def __init__(self, from_hz: int, to_hz: int) -> None:
        same = from_hz == to_hz
        self._stream = None if same else soxr.ResampleStream(from_hz, to_hz, 1, dtype="float32")

    def feed(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """More samples, shape (frames,); what comes out lags behind by the length of the filter."""
        if self._stream is None:
            return samples
        out: NDArray[np.float32] = self._stream.resample_chunk(samples)
        return out

    def finish(self) -> NDArray[np.float32]:
        """What the filter still holds."""
        nothing = np.zeros(0, np.float32)
        if self._stream is None:
            return nothing
        out: NDArray[np.float32] = self._stream.resample_chunk(nothing, last=True)
        return out


def resampled(samples: NDArray[np.float32], from_hz: int, to_hz: int) -> NDArray[np.float32]:
    """Samples of shape (frames,) at another rate, all at once; it may overshoot their peak."""
    if from_hz == to_hz:
        return samples
    return np.asarray(soxr.resample(samples, from_hz, to_hz))
