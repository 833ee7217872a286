"""The shape of the database, as named steps; each runs once, in one transaction with its record."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from bayhelper.terms.errors import RecordError

STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "decisions",
        (
            """
            CREATE TABLE decisions (
                job TEXT NOT NULL,
                number INTEGER NOT NULL CHECK (number >= 1),
                at_utc TEXT NOT NULL,
                content TEXT NOT NULL,
                PRIMARY KEY (job, number)
            ) STRICT, WITHOUT ROWID
            """,
        ),
    ),
)
"""Name and statements of each; a step that was released is never changed, only followed."""


def refuse_strange(connection: sqlite3.Connection, file: Path) -> bool:
    """Whether there is a journal in the file; False for an empty database.

    Raises RecordError for the database of another program, and for a journal that a newer version
    made; nothing is written.
    """
    tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
    if not tables:
        return False
    if "steps" not in tables:
        raise RecordError(
            f"{file} is the database of another program: expected a table 'steps', found "
            f"{', '.join(sorted(tables)[:5])}. Move it away, or name another folder with --data."
        )
    known = {name for name, _ in STEPS}
    strange = {str(row[0]) for row in connection.execute("SELECT name FROM steps")} - known
    if strange:
        raise RecordError(
            f"{file} was made by a newer version of bayhelper: this one does not know "
            f"{', '.join(sorted(strange))}. Install that version; nothing was changed."
        )
    return "decisions" in tables


def migrate(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Run the steps that have not run yet; gives their names."""
    connection.execute("CREATE TABLE IF NOT EXISTS steps (name TEXT PRIMARY KEY) STRICT")
    applied = {row[0] for row in connection.execute("SELECT name FROM steps")}
    done = []
    for name, statements in STEPS:
        if name in applied:
            continue
        connection.execute("BEGIN IMMEDIATE")
        try:
            for statement in statements:
                connection.execute(statement)
            connection.execute("INSERT INTO steps VALUES (?)", (name,))
        except sqlite3.Error:
            connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")
        done.append(name)
    return tuple(done)
