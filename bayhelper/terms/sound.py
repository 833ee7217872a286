"""A stretch of mono sound in memory."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Sound:
    """Mono sound as signed 16-bit little-endian samples."""

    pcm: bytes
    """Samples, two bytes each, shape (frames,)."""
    rate_hz: int
    """Frames per second."""

    @property
    def frames(self) -> int:
        """How many samples there are."""
        return len(self.pcm) // 2

    @property
    def length_s(self) -> float:
        """How long it sounds, seconds."""
        return self.frames / self.rate_hz
