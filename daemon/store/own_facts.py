"""Small facts the daemon keeps about itself, by name."""

from __future__ import annotations

import sqlite_utils


def put_setting(db: sqlite_utils.Database, key: str, value: str) -> None:
    """Keep ``value`` under ``key`` in place of an earlier value."""
    db.execute("INSERT INTO setting (key, value) VALUES (?, ?)"
               " ON CONFLICT (key) DO UPDATE SET value = excluded.value", [key, value])


def setting(db: sqlite_utils.Database, key: str) -> str | None:
    """Return the value kept under ``key``; None where there is none."""
    row = db.execute("SELECT value FROM setting WHERE key = ?", [key]).fetchone()
    return None if row is None else str(row[0])
