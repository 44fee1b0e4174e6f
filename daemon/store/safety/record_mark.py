"""The record mark: the head of a firing's chain, short enough to be printed on a card and typed in again."""

from __future__ import annotations

import sqlite_utils

from daemon.store.chain import links

_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Digits and letters without I, L, O and U, which are read as others or make words; each stands for five bits."""
_ALIKE = str.maketrans("ILO", "110")
GROUPS, GROUP_SIGNS = 4, 5
"""A mark is so many groups of so many signs. [chosen: 100 bits; no two firings share them by chance]"""
_BITS = GROUPS * GROUP_SIGNS * 5
"""Bits of a head that are printed. [derived: each sign stands for five]"""


def head(db: sqlite_utils.Database, firing_id: int) -> str | None:
    """Return the head of a firing's chain as 64 hexadecimal digits; None where it has no chain yet."""
    found = links.last(db, firing_id)
    return None if found is None else found.head.hex()


def short(mark: str) -> str:
    """Return a head, given as hexadecimal digits, as it is printed: its first 100 bits, in four groups."""
    bits = int(mark, 16) >> (4 * len(mark) - _BITS)
    signs = "".join(_SIGNS[bits >> at & 31] for at in range(_BITS - 5, -1, -5))
    return " ".join(signs[at:at + GROUP_SIGNS] for at in range(0, len(signs), GROUP_SIGNS))


def had(db: sqlite_utils.Database, mark: str) -> list[tuple[int, int]]:
    """Return firing and number of each link whose head is printed as ``mark``, given as ``typed`` returns it."""
    bits = 0
    for sign in mark.replace(" ", ""):
        bits = bits << 5 | _SIGNS.index(sign)
    first = (bits >> 4).to_bytes(_BITS // 8, "big")
    return [(firing_id, no) for firing_id, no, found in db.execute(
        "SELECT firing_id, no, head FROM link WHERE substr(head, 1, ?) = ? ORDER BY firing_id, no",
        [len(first), first])
        if short(found.hex()) == mark]


def typed(text: str) -> str | None:
    """Return a mark that somebody typed as it is printed; None for what is none. I and L are 1, O is 0."""
    signs = "".join(text.upper().replace("-", " ").split()).translate(_ALIKE)
    if len(signs) != GROUPS * GROUP_SIGNS or any(sign not in _SIGNS for sign in signs):
        return None
    return " ".join(signs[at:at + GROUP_SIGNS] for at in range(0, len(signs), GROUP_SIGNS))
