"""The mark of a record: which copies are its own, whatever the kiln is called and wherever the record lies."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Collection
from hashlib import sha256
from pathlib import Path

_DIGITS = 8
"""Hexadecimal digits of a mark. [chosen: no two records of a house share them by chance]"""
_LONGEST = 30
"""Characters of the kiln's name in it at most. [chosen: a folder's name that can be read]"""


def mark_of(copy: Path, there: Collection[str] = ()) -> str:
    """Return the mark of a record: its kiln's name, and digits that stay the same for ever.

    The digits come from the moment at which the record was begun, which each copy of it carries. So a record that
    was restored on a new computer goes on with its own copies, and another record never touches them.

    Parameters
    ----------
    copy
        A copy of the record.
    there
        Marks that are in use; one with the same digits is kept, though the kiln was renamed.

    Raises
    ------
    sqlite3.Error
        Where it can't be read.
    """
    db = sqlite3.connect(f"{copy.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    try:
        begun = db.execute("SELECT name, applied_at FROM _sqlite_migrations ORDER BY id LIMIT 1").fetchone()
        kiln = db.execute("SELECT name FROM kiln ORDER BY kiln_id LIMIT 1").fetchone()
    finally:
        db.close()
    if begun is None:
        raise sqlite3.DatabaseError("it holds no record")
    digits = sha256(" ".join(map(str, begun)).encode()).hexdigest()[:_DIGITS]
    name = re.sub(r"[^a-z0-9]+", "-", str(kiln[0] if kiln else "kiln").lower()).strip("-")[:_LONGEST].strip("-")
    return next((mark for mark in there if mark.endswith(f"-{digits}")), f"{name or 'kiln'}-{digits}")
