"""The journal: the only writer. What `append` returned from is on disk, whatever happens next."""

from __future__ import annotations

import fcntl
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from bayhelper.remember.codec import encode_decision
from bayhelper.remember.migrations import migrate, refuse_strange
from bayhelper.terms.errors import RecordError
from bayhelper.terms.events import Decision

FILE_NAME = "bay.sqlite3"
"""In the data folder."""
LEFT_BEHIND = ("clips", "prompts")
"""What lies beside a journal only when there was a job."""
LETTERS = "abcdefghijklmnopqrstuvwxyz"
"""Ends of the ids of jobs of one day: a to z, then aa to zz, 702 in all."""


class Journal:
    """Appends decisions; made by `Journal.open`."""

    def __init__(self, connection: sqlite3.Connection, file: Path) -> None:
        self._connection = connection
        self._file = file

    @classmethod
    @contextmanager
    def open(cls, folder: Path) -> Iterator[Journal]:
        """The journal of a data folder, which is made when it is missing.

        Raises RecordError when the folder cannot be written, the file is damaged, or another
        process is writing.
        """
        file = folder / FILE_NAME
        try:
            folder.mkdir(parents=True, exist_ok=True)
            lock = (folder / "writer.lock").open("w")
        except OSError as error:
            raise RecordError(
                f"The data folder {folder} cannot be written: {error}. Choose another with --data."
            ) from error
        with lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError as error:
                raise RecordError(
                    f"Another bayhelper is writing in {folder}. Close it, or use another folder."
                ) from error
            connection = _connect(file)
            try:
                yield cls(connection, file)
            finally:
                connection.close()

    def append(self, decision: Decision) -> None:
        """Record one decision in one transaction.

        Raises RecordError when its number is not the next one, or when the disk refuses.
        """
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                last = self._last(decision.job)
                if decision.number != last + 1:
                    raise RecordError(
                        f"Decision {decision.number} of job {decision.job} came, but "
                        f"{last + 1} is next. Start bayhelper anew; nothing was overwritten."
                    )
                self._connection.execute(
                    "INSERT INTO decisions VALUES (?, ?, ?, ?)",
                    (
                        decision.job,
                        decision.number,
                        decision.at_utc.isoformat(),
                        encode_decision(decision),
                    ),
                )
                self._connection.execute("COMMIT")
            except (sqlite3.Error, RecordError):
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        except sqlite3.Error as error:
            raise RecordError(
                f"{self._file} took no more: {error}. Make room or free the file, then start anew; "
                "everything before is kept."
            ) from error

    def _last(self, job: str) -> int:
        row = self._connection.execute(
            "SELECT coalesce(max(number), 0) FROM decisions WHERE job = ?", (job,)
        ).fetchone()
        return int(row[0])

    def next_job_id(self, at_utc: datetime) -> str:
        """A free id: the date and a letter, such as '2026-03-02-a'."""
        day = at_utc.date().isoformat()
        rows = self._connection.execute(
            "SELECT DISTINCT job FROM decisions WHERE job LIKE ?", (f"{day}-%",)
        ).fetchall()
        taken = {row[0] for row in rows}
        names = (*LETTERS, *(a + b for a in LETTERS for b in LETTERS))
        return next(f"{day}-{name}" for name in names if f"{day}-{name}" not in taken)


def _connect(file: Path) -> sqlite3.Connection:
    _refuse_emptied(file)
    what_now = "Move it aside (do not delete it) and restore a copy, or name another --data."
    try:
        connection = sqlite3.connect(file, isolation_level=None)
    except sqlite3.Error as error:
        raise RecordError(f"{file} cannot be opened: {error}. {what_now}") from error
    try:
        refuse_strange(connection, file)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        migrate(connection)
    except sqlite3.Error as error:
        connection.close()
        raise RecordError(f"{file} is no usable journal: {error}. {what_now}") from error
    except RecordError:
        connection.close()
        raise
    return connection


def _refuse_emptied(file: Path) -> None:
    """SQLite takes an empty file for a new database; it is none where jobs were kept before."""
    left = [name for name in LEFT_BEHIND if (file.parent / name).exists()]
    if left and file.exists() and file.stat().st_size == 0:
        raise RecordError(
            f"{file} is empty, but {' and '.join(left)} beside it are of jobs that it must have "
            "held. Restore a copy of it, or name another folder with --data."
        )
