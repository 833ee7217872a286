"""Reading what was recorded, also while a writer is at work."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bayhelper.remember.codec import decode_decision
from bayhelper.remember.journal import FILE_NAME
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import Decision


class History:
    """Read-only view of a data folder; made by `History.open`."""

    def __init__(self, connection: sqlite3.Connection | None) -> None:
        self._connection = connection

    @classmethod
    @contextmanager
    def open(cls, folder: Path) -> Iterator[History]:
        """What a data folder holds; an empty history where there is no journal yet.

        Raises RecordError when the file is no journal.
        """
        file = folder / FILE_NAME
        if not file.exists():
            yield cls(None)
            return
        try:
            connection = sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)
            connection.execute("SELECT count(*) FROM steps")
        except sqlite3.Error as error:
            raise RecordError(f"{file} cannot be read as a journal: {error}.") from error
        try:
            yield cls(connection)
        finally:
            connection.close()

    def jobs(self) -> tuple[str, ...]:
        """Ids of all jobs, in the order in which they were opened."""
        if self._connection is None:
            return ()
        rows = self._connection.execute(
            "SELECT job FROM decisions WHERE number = 1 ORDER BY at_utc, job"
        )
        return tuple(row[0] for row in rows)

    def decisions(self, job: str) -> tuple[Decision, ...]:
        """All decisions of a job. Raises RecordError when there is no such job."""
        rows: list[tuple[str]] = []
        if self._connection is not None:
            rows = self._connection.execute(
                "SELECT content FROM decisions WHERE job = ? ORDER BY number", (job,)
            ).fetchall()
        if not rows:
            known = ", ".join(self.jobs()) or "none yet"
            raise RecordError(f"There is no job '{job}'. Jobs recorded: {known}.")
        return tuple(decode_decision(row[0]) for row in rows)
