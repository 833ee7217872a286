"""Instants as a record shows them: in one zone, which is stated."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, tzinfo


@dataclass(frozen=True)
class Times:
    """Writes the instants of one job in one zone."""

    zone: tzinfo | None
    """The zone; None for that of this computer."""
    opened_at_utc: datetime
    """When the job was opened: times of the same day go without a date."""

    def stamp(self, instant: datetime | None) -> str:
        """Date and time; '-' for none."""
        return f"{self._local(instant):%Y-%m-%d %H:%M:%S}" if instant else "-"

    def clock(self, instant: datetime) -> str:
        """The time, with the date when it is not the day on which the job was opened."""
        local = self._local(instant)
        same = local.date() == self._local(self.opened_at_utc).date()
        return f"{local:%H:%M:%S}" if same else f"{local:%Y-%m-%d %H:%M:%S}"

    def offsets(self, until_utc: datetime) -> str:
        """The offset from UTC, and the later one when clocks were put forward or back."""
        first, last = (self._offset(instant) for instant in (self.opened_at_utc, until_utc))
        return first if first == last else f"{first} at the beginning, {last} at the end"

    def _local(self, instant: datetime) -> datetime:
        return instant.astimezone(self.zone)

    def _offset(self, instant: datetime) -> str:
        digits = f"{self._local(instant):%z}"
        return f"UTC{digits[:3]}:{digits[3:5]}"
