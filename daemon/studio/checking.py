"""What a box gives, checked before it is kept: each link follows the one before, each content has its own hash."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any, NamedTuple

from daemon.store.chain import contents
from daemon.store.chain.contents import ADOPTED, ALERT, FIRING, JOINED, JOINING, MILESTONES, PARTS, READINGS, STATES
from daemon.store.chain.links import START, canonical, head_after, own_of

KINDS = frozenset({ADOPTED, JOINED, FIRING, READINGS, PARTS, ALERT, *contents.NUMBERED, *JOINING})
_MOST = 2**31
"""A whole number of a reading is smaller. [derived: four bytes]"""
FIGURES = 5
"""Fields of a reading: second, 1/128 °C, how far below and above, fault. [derived: as in the chain]"""
Reading = tuple[int, int | None, int | None, int | None, int | None]


class Unlike(Exception):
    """What a box gives is not what was collected of it before, or not what its own chain says; why, in a sentence."""


class OtherRecord(Unlike):
    """The record at this address is not the one that was collected."""


class Taken(NamedTuple):
    """A link that was checked."""

    no: int
    kind: str
    ref: int
    own: bytes
    head: bytes
    text: str | None
    """Its content as JSON; None for readings, for a state that a later link replaces or that is gone, and
    for ``adopted`` and ``joined``."""
    readings: Sequence[Reading] = ()


class Mark(NamedTuple):
    """The last link that was taken of a firing; ``no`` is -1 before the first."""

    no: int
    head: str


BEGINNING = Mark(-1, START)


def checked(firing_id: int, answer: dict[str, Any], before: Mark) -> list[Taken]:
    """Return the links of an answer.

    Raises
    ------
    Unlike
        Naming the firing and the entry, where one does not follow the one before, or its content is another.
    """
    found = []
    given = answer.get("links")
    for row in given if isinstance(given, list) else []:
        link = _link(firing_id, row)
        where = f"firing {firing_id}, entry {link.no}"
        if link.no != before.no + 1 or head_after(before.head, link.kind, link.ref, link.own) != link.head:
            raise OtherRecord(f"Firing {firing_id} does not go on from what was collected.")
        if "content" in row and own_of(row["content"]) != link.own:
            raise Unlike(f"{where} is not as the box kept it. Ask there: lehrling archive verify")
        if "content" not in row and link.kind not in STATES:
            raise Unlike(f"{where} comes without what it is of.")
        found.append(link)
        before = Mark(link.no, link.head.hex())
    return found


def fresh(answer: dict[str, Any]) -> list[Reading]:
    """Return the readings of an answer that have no link yet; none where they are not such."""
    rows = answer.get("fresh")
    try:
        return _readings(rows if isinstance(rows, list) else [])
    except ValueError:
        return []


def as_text(content: Any) -> str:
    """Return a content as JSON that PostgreSQL takes; what it can't keep, character 0 or half a one, is �."""
    text = canonical(content).decode(errors="replace")
    return canonical(_without_zeros(content)).decode(errors="replace") if "\\u0000" in text else text


def digests(text: str) -> bytes:
    """Return the SHA-256 of a content that ``as_text`` wrote."""
    return own_of(json.loads(text))


def _without_zeros(content: Any) -> Any:
    if isinstance(content, dict):
        return {_without_zeros(key): _without_zeros(value) for key, value in content.items()}
    if isinstance(content, list):
        return [_without_zeros(value) for value in content]
    return content.replace("\0", "\ufffd") if isinstance(content, str) else content


def _link(firing_id: int, row: Any) -> Taken:
    try:
        no, kind, ref = row["no"], row["kind"], row["ref"]
        own, head = bytes.fromhex(row["own"]), bytes.fromhex(row["head"])
        if type(no) is not int or type(ref) is not int or kind not in KINDS or not 0 <= ref < 2**53:
            raise ValueError
        content = row.get("content")
        if kind == READINGS:
            readings = _readings(content)
            if any(contents.block_of(list(one)) != ref for one in readings):
                raise ValueError
            return Taken(no, kind, ref, own, head, None, readings)
        if content is not None and not isinstance(content, list if kind in (PARTS, MILESTONES) else dict):
            raise ValueError
    except (KeyError, TypeError, ValueError):
        raise Unlike(f"firing {firing_id} has an entry that can't be read.") from None
    return Taken(no, kind, ref, own, head, None if content is None else as_text(content))


def _readings(rows: Any) -> list[Reading]:
    found: list[Reading] = []
    for row in rows:
        if not isinstance(row, list) or len(row) != FIGURES or type(row[0]) is not int or not all(
                one is None or (type(one) is int and -_MOST <= one < _MOST) for one in row):
            raise ValueError
        if row[0] < 0 or (found and row[0] <= found[-1][0]):
            raise ValueError
        found.append((row[0], row[1], row[2], row[3], row[4]))
    return found
