"""The last row of a file that any logger of the air appends to: `time,temp_c,rh_percent`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from math import isfinite
from os import SEEK_END
from pathlib import Path

from bayhelper.terms.errors import SheetError

HEADER = "time,temp_c,rh_percent"
"""First line of the file; a format of ours, since loggers have none in common."""
TAIL_BYTES = 4096
"""A logger that has run for months leaves a long file, of which only the end is read:
some hundred rows (chosen)."""


@dataclass(frozen=True)
class AirRow:
    """One measurement of the air."""

    at_utc: datetime
    """When, aware, UTC."""
    temp_c: float
    """Degrees Celsius."""
    rh_percent: float
    """Relative humidity, above 0 and at most 100."""


def last_air(path: Path) -> AirRow | None:
    """The last whole row; None while there is only a header.

    A row without its line's end is still being written and waits for its end. Times are RFC 3339
    with their zone. Raises SheetError naming file, row, what was wanted and what came.
    """
    try:
        with path.open("rb") as file:
            file.seek(max(0, file.seek(0, SEEK_END) - TAIL_BYTES))
            text = file.read().decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SheetError(
            f"{path}: the air cannot be read: {error}. Correct 'air_file' in the settings, or let "
            f"the logger write lines of {HEADER}."
        ) from error
    lines = [line.strip() for line in text[: text.rfind("\n") + 1].splitlines() if line.strip()]
    if not lines or lines[-1].replace(" ", "") == HEADER:
        return None
    return _row(lines[-1], path)


def _row(line: str, path: Path) -> AirRow:
    cells = [cell.strip() for cell in line.split(",")]
    wanted = f"{path}: a row must be {HEADER}, such as 2026-03-02T09:00:00Z,21.5,48"
    if len(cells) != 3:
        raise SheetError(f"{wanted}, but the last one is {line!r}. Correct what the logger writes.")
    try:
        at = datetime.fromisoformat(cells[0])
        temp_c, rh_percent = float(cells[1]), float(cells[2])
    except ValueError as error:
        raise SheetError(f"{wanted}, but the last one is {line!r}: {error}.") from error
    if at.tzinfo is None:
        raise SheetError(f"{wanted}, but {cells[0]!r} has no zone. End it with Z or +01:00.")
    try:
        at_utc = at.astimezone(UTC)
    except OverflowError as error:  # the first hours of the year 1, or the last of 9999
        raise SheetError(f"{wanted}, but {cells[0]!r} is no day of ours: {error}.") from error
    if not isfinite(temp_c) or not 0 < rh_percent <= 100:
        raise SheetError(
            f"{wanted}, with a humidity above 0 and at most 100, but the last one is {line!r}. "
            "Look at the sensor."
        )
    return AirRow(at_utc, temp_c, rh_percent)
