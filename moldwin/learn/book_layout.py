"""How trials lie in their SQLite file, and how an older file becomes a newer one."""

from __future__ import annotations

import sqlite3

__all__ = ["APPLICATION_ID", "STEPS", "lay_out", "newest", "upgrade", "version_of"]

#: "mlwd", in the file's header: tells a book of trials from any other SQLite file.
APPLICATION_ID = 0x6D6C7764

#: Statements that lead from each version to the next; a new book takes all of them. Never change
#: a step that was released: add one. New columns must allow nothing, or sums no longer match.
STEPS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE job (id TEXT PRIMARY KEY, tables TEXT NOT NULL)",
        """CREATE TABLE trial (
            number INTEGER PRIMARY KEY,
            id TEXT NOT NULL UNIQUE,
            added TEXT NOT NULL,
            undone TEXT NOT NULL,
            job TEXT NOT NULL,
            job_id TEXT NOT NULL REFERENCES job (id),
            date TEXT NOT NULL,
            lot TEXT NOT NULL,
            moisture_pct REAL,
            barrel_c REAL,
            soak_s REAL,
            mold_c REAL,
            force_kn REAL,
            charge_g REAL,
            cooling_s REAL,
            filled INTEGER,
            fill_pct REAL,
            part_g REAL,
            bubbles TEXT NOT NULL,
            color REAL,
            stuck INTEGER,
            cracked INTEGER,
            bend_radius_mm REAL,
            photo TEXT NOT NULL,
            note TEXT NOT NULL,
            check_sum INTEGER NOT NULL
        )""",
    ),
    (
        "ALTER TABLE trial ADD COLUMN warped INTEGER",
        "ALTER TABLE trial ADD COLUMN lumps INTEGER",
    ),
)


def newest() -> int:
    """The version this moldwin writes. [-]"""
    return len(STEPS)


def version_of(connection: sqlite3.Connection) -> int:
    """The version a file says it has; 0 where it says none. [-]"""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    return int(version)


def lay_out(connection: sqlite3.Connection) -> None:
    """An empty file made a book, as a whole or not at all."""
    connection.execute("BEGIN IMMEDIATE")
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    upgrade(connection)
    connection.execute("COMMIT")


def upgrade(connection: sqlite3.Connection) -> None:
    """Take every step from the file's version to the newest; the caller holds the transaction."""
    for step in STEPS[version_of(connection) :]:
        for statement in step:
            connection.execute(statement)
    connection.execute(f"PRAGMA user_version = {newest()}")
