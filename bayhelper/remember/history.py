"""Reading what was recorded, also beside a writer, and as far as a damaged file allows."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from bayhelper.remember.codec import decode_decision
from bayhelper.remember.journal import FILE_NAME
from bayhelper.remember.migrations import refuse_strange
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import Decision

WHAT_NOW = "Move the file aside (do not delete it) and restore a copy, or name another --data."
"""What to do about a journal that cannot be read."""


class History:
    """Read-only view of a data folder; made by `History.open`."""

    def __init__(self, connection: sqlite3.Connection | None, file: Path) -> None:
        self._connection = connection
        self._file = file

    @classmethod
    @contextmanager
    def open(cls, folder: Path) -> Iterator[History]:
        """What a data folder holds; an empty history where there is no journal yet.

        Raises RecordError when the file is no journal, or one of a newer version.
        """
        file = folder / FILE_NAME
        if not file.exists():
            yield cls(None, file)
            return
        try:
            connection = sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)
        except sqlite3.Error as error:
            raise RecordError(f"{file} cannot be opened: {error}. {WHAT_NOW}") from error
        with closing(connection):
            try:
                made = refuse_strange(connection, file)
            except sqlite3.Error as error:
                raise RecordError(
                    f"{file} cannot be read as a journal: {error}. {WHAT_NOW}"
                ) from error
            yield cls(connection if made else None, file)

    def jobs(self) -> tuple[str, ...]:
        """Ids of all jobs, in the order in which they were opened.

        Of a file that is damaged, those of its beginning and its end that can be reached; `damage`
        says whether that is all of them.
        """
        forward, whole = self._names("SELECT min(job) FROM decisions WHERE job > ?", "")
        backward, _ = (
            ([], True)
            if whole
            else self._names("SELECT max(job) FROM decisions WHERE job < ?", "~")
        )
        return tuple(sorted({*forward, *backward}, key=self._opened))

    def damage(self) -> RecordError | None:
        """What SQLite finds wrong with the file; None for nothing. Reads all of it."""
        if self._connection is None:
            return None
        try:
            rows = self._connection.execute("PRAGMA quick_check(1)").fetchall()
            found = "" if rows == [("ok",)] else " ".join(" ".join(row[0].split()) for row in rows)
        except sqlite3.Error as error:
            found = str(error)
        return (
            RecordError(
                f"{self._file} is damaged ({found}), so jobs may be missing. {WHAT_NOW} 'bayhelper "
                "export' prints what can be read of a job."
            )
            if found
            else None
        )

    def decisions(self, job: str) -> tuple[Decision, ...]:
        """All decisions of a job.

        Raises RecordError when there is no such job, and naming the first that cannot be read.
        """
        decisions, faults = self.readable(job)
        if faults:
            raise faults[0]
        return decisions

    def readable(self, job: str) -> tuple[tuple[Decision, ...], tuple[RecordError, ...]]:
        """The decisions of a job that can be read, and what is wrong with the others.

        Raises RecordError when there is no such job.
        """
        found: list[Decision] = []
        faults: list[RecordError] = []
        number = 0
        try:
            for number, content in self._rows(job):
                try:
                    self._refuse_gap(job, found, faults, number)
                    found.append(_decoded(content, job, number))
                except RecordError as error:
                    faults.append(self._fault(job, number, str(error)))
        except sqlite3.Error as error:
            faults.append(self._fault(job, number + 1, f"{error}."))
        if not found and not faults:
            known = ", ".join(self.jobs()) or "none yet"
            raise RecordError(f"There is no job '{job}'. Jobs recorded: {known}.")
        return tuple(found), tuple(faults)

    def _rows(self, job: str) -> Iterator[tuple[int, bytes]]:
        if self._connection is not None:
            yield from self._connection.execute(
                "SELECT number, CAST(content AS BLOB) FROM decisions WHERE job = ? ORDER BY number",
                (job,),
            )

    def _refuse_gap(
        self, job: str, found: list[Decision], faults: list[RecordError], number: int
    ) -> None:
        last = found[-1].number if found else 0
        if not faults and number != last + 1:
            faults.append(self._fault(job, last + 1, "it is missing."))

    def _fault(self, job: str, number: int, reason: str) -> RecordError:
        return RecordError(
            f"{self._file}, job {job}, decision {number}: {reason} Other jobs can be read, and "
            f"'bayhelper export {job}' prints what is whole of this one. To have all, restore a "
            "copy of the file."
        )

    def _names(self, query: str, start: str) -> tuple[list[str], bool]:
        """Ids found by stepping from job to job, and whether no damage ended that."""
        names: list[str] = []
        if self._connection is None:
            return names, True
        try:
            while True:
                row = self._connection.execute(query, (names[-1] if names else start,)).fetchone()
                if row[0] is None:
                    return names, True
                names.append(str(row[0]))
        except sqlite3.Error:
            return names, False

    def _opened(self, job: str) -> tuple[str, str]:
        """Sorts by the instant of the first decision, and by id where that cannot be read."""
        if self._connection is None:
            return "", job
        try:
            row = self._connection.execute(
                "SELECT at_utc FROM decisions WHERE job = ? ORDER BY number LIMIT 1", (job,)
            ).fetchone()
        except sqlite3.Error:
            return job, job
        return str(row[0]), job


def _decoded(content: bytes, job: str, number: int) -> Decision:
    """One decision of a row, which must be the one that the row says it is."""
    try:
        decision = decode_decision(content.decode())
    except UnicodeDecodeError as error:
        raise RecordError(f"it is no text: {error}.") from error
    if (decision.job, decision.number) != (job, number):
        raise RecordError(f"it holds decision {decision.number} of job {decision.job}.")
    return decision
