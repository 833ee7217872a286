"""Takes the noise of machines out of a stream of sound before the end-pointer sees it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

import numpy as np

from bayhelper.hear.capture.denoising_networks import (
    DEEPFILTER,
    HOP,
    MODEL_RATE_HZ,
    RNNOISE,
    DeepFilter,
    DenoisingNetwork,
    RNNoise,
)
from bayhelper.hear.capture.endpoint import RATE_HZ
from bayhelper.sound.resampling import Resampler
from bayhelper.sound.samples import STEPS, floats, pcm16
from bayhelper.terms.closing import Closing
from bayhelper.terms.errors import HearingError
from bayhelper.terms.ports import Suppressor

OFF, AUTO = "off", "auto"
"""What the setting may name besides a network: none, and whichever is installed."""


class StreamSuppressor(Closing):
    """A network at work on a stream; satisfies terms.ports.Suppressor.

    What comes out depends on what was heard before, never on the size of the blocks.
    """

    def __init__(self, name: str, network: DenoisingNetwork) -> None:
        self.name = name
        self._network: DenoisingNetwork | None = network
        self._up = Resampler(RATE_HZ, MODEL_RATE_HZ)
        self._down = Resampler(MODEL_RATE_HZ, RATE_HZ)
        self._rest = np.zeros(0, np.float32)
        self._late = self._ahead = network.late
        self._due = 0

    def feed(self, pcm: bytes) -> bytes:
        samples = floats(pcm, STEPS)
        self._due += len(samples)
        cleaned = self._clean(self._up.feed(samples))
        return self._counted(pcm16(self._down.feed(cleaned), STEPS))

    def finish(self) -> bytes:
        silence = np.zeros(self._late + 2 * HOP, np.float32)
        cleaned = self._clean(np.concatenate([self._up.finish(), silence]))
        last = np.concatenate([self._down.feed(cleaned), self._down.finish()])
        rest = self._counted(pcm16(last, STEPS))
        short, self._due = bytes(2 * self._due), 0
        return rest + short

    def close(self) -> None:
        """Give the network's memory back."""
        if self._network is not None:
            self._network.close()
            self._network = None

    def _clean(self, samples: np.ndarray) -> np.ndarray:
        if self._network is None:
            raise HearingError("The noise suppressor was closed; open another for more sound.")
        held = np.concatenate([self._rest, samples]).astype(np.float32)
        whole = len(held) // HOP * HOP
        self._rest = held[whole:]
        out = np.empty(whole, np.float32)
        for at in range(0, whole, HOP):
            self._network.process(held[at : at + HOP], out[at : at + HOP])
        late, self._ahead = min(self._ahead, whole), max(0, self._ahead - whole)
        return out[late:]

    def _counted(self, pcm: bytes) -> bytes:
        """Never more sound out than went in."""
        kept = pcm[: 2 * self._due]
        self._due -= len(kept) // 2
        return kept


NETWORKS: dict[str, Callable[[], DenoisingNetwork]] = {RNNOISE: RNNoise, DEEPFILTER: DeepFilter}
"""As good as one another in benchmarks/results/hearing.md; the one that costs less comes first."""
SUPPRESSORS = (AUTO, OFF, *NETWORKS)
"""What the setting may name."""


def open_suppressor(name: str) -> Suppressor | None:
    """The suppressor that a setting names; None for 'off', and for 'auto' where none is installed.

    Raises HearingError for another name, and when the library of the one named is missing.
    """
    if name == OFF:
        return None
    if name == AUTO:
        return _any_suppressor()
    if name not in NETWORKS:
        raise HearingError(f"Expected a suppressor among {', '.join(SUPPRESSORS)}, got {name!r}.")
    return StreamSuppressor(name, NETWORKS[name]())


def _any_suppressor() -> Suppressor | None:
    for name in NETWORKS:
        with suppress(HearingError):
            return open_suppressor(name)
    return None
