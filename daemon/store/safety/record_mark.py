"""The mark of a firing's record: a chain of SHA-256 over its readings, ten minutes a link.

Whoever has a printed card can see by its mark whether the readings are still those it was printed from: a
reading changed, dropped or moved changes every link after it. It is no proof against whoever owns the file
and prints a new card.
"""

from __future__ import annotations

from hashlib import sha256

import sqlite_utils

BLOCK_S = 600
"""Readings of so long make one link of the chain [s]. [chosen: ten minutes, so that a change is placed about as
closely as a firing has parts]"""
_SHOWN = 16
"""Hexadecimal digits that are shown of a link. [chosen: 64 bits; no two firings share them by chance]"""


def head(db: sqlite_utils.Database, firing_id: int) -> str | None:
    """Return the last link of the chain as 64 hexadecimal digits; None where nothing was read.

    The first link hashes the firing's start; each later one the link before it and the readings of its ten
    minutes as lines ``second,1/128 °C,below,above,fault``, an empty field where there is nothing.
    """
    row = db.execute("SELECT started_utc FROM firing WHERE firing_id = ?", [firing_id]).fetchone()
    if row is None:
        return None
    link, block = sha256(str(row[0]).encode()).hexdigest(), None
    lines: list[str] = []
    for reading in db.execute(
            "SELECT t_s, temp_128, below_128, above_128, fault FROM reading WHERE firing_id = ? ORDER BY t_s",
            [firing_id]):
        if reading[0] // BLOCK_S != block:
            link, block = _next(link, lines), reading[0] // BLOCK_S
            lines = []
        lines.append(",".join("" if field is None else str(field) for field in reading))
    return _next(link, lines) if lines else None


def short(mark: str) -> str:
    """Return a mark as it is printed: its first sixteen digits, in fours."""
    return " ".join(mark[i:i + 4] for i in range(0, _SHOWN, 4))


def _next(link: str, lines: list[str]) -> str:
    if not lines:
        return link
    return sha256((link + "\n" + "\n".join(lines)).encode()).hexdigest()
