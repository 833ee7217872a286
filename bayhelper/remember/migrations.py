"""The shape of the database, as named steps; each runs once, in one transaction with its record."""

from __future__ import annotations

import sqlite3

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
