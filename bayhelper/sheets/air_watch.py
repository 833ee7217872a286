"""Looks at a logger's file now and then: new rows once, and what is wrong with it once."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from bayhelper.sheets.air_log import AirRow, last_air
from bayhelper.terms.errors import SheetError

EVERY = timedelta(seconds=30)
"""Air does not change faster than that."""


class AirWatch:
    """The last row of one file, as time passes."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._next_utc: datetime | None = None
        self._told = ""

    def look(self, now_utc: datetime) -> tuple[AirRow | None, str]:
        """The last row, unless it was looked at just now; and what is wrong, told once.

        Rows of the future are passed over: the logger's clock, or this one, is wrong.
        """
        if self._next_utc is not None and now_utc < self._next_utc:
            return None, ""
        self._next_utc = now_utc + EVERY
        row, fault = None, ""
        try:
            row = last_air(self._path)
        except SheetError as error:
            fault = str(error)
        if row is not None and row.at_utc > now_utc + EVERY:
            fault = (
                f"{self._path}: the last row is of {row.at_utc.isoformat()}, which is still to "
                "come. Set the clock of the logger, or of this computer."
            )
            row = None
        new = fault if fault != self._told else ""
        self._told = fault
        return row, new
