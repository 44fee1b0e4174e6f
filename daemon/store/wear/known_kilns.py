"""What the watches knew of the kiln when a firing began, as text. The firing is judged again by that."""

from __future__ import annotations

import sqlite_utils


def put(db: sqlite_utils.Database, firing_id: int, told: str) -> None:
    """Keep what was known when a firing began."""
    db.execute("INSERT INTO known_kiln (firing_id, told) VALUES (?, ?)", [firing_id, told])


def told(db: sqlite_utils.Database, firing_id: int) -> str | None:
    """Return what was known when a firing began; None where that was too little, or the firing is of before this."""
    row = db.execute("SELECT told FROM known_kiln WHERE firing_id = ?", [firing_id]).fetchone()
    return None if row is None else str(row[0])
