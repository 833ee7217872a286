"""When the sound of a device was caught, told from when its blocks arrive."""

from __future__ import annotations

DRIFT_PER_S = 0.001
"""How fast the clock of a sound card may run away from the computer's: ten times the 100 parts in a
million that crystals are commonly sold with (no source)."""


class DeviceClock:
    """Lays the samples of one stream on the steady clock.

    Blocks arrive late by turns, never early. So the least lag seen between samples counted and time
    passed is the clock of the device; it may be forgotten slowly, because two clocks never agree.
    """

    def __init__(self) -> None:
        self._offset_s = float("inf")
        self._offset_at_s = 0.0

    def forget(self) -> None:
        """Begin anew, because the stream is another or has lost samples."""
        self._offset_s = float("inf")

    def end_s(self, length_s: float, arrived_s: float) -> float:
        """When the last sample so far was caught, steady seconds.

        `length_s` is the length of the stream up to there, by its own count; `arrived_s` is when
        that block arrived, steady seconds.
        """
        lag_s = arrived_s - length_s
        if self._offset_s == float("inf"):
            self._offset_s = lag_s
        else:
            drift_s = DRIFT_PER_S * max(0.0, arrived_s - self._offset_at_s)
            self._offset_s = min(lag_s, self._offset_s + drift_s)
        self._offset_at_s = arrived_s
        return self._offset_s + length_s
