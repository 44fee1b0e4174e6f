"""A chain compared with what is kept: each change, loss, addition and exchange, and where it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from itertools import groupby
from typing import NamedTuple

import sqlite_utils

from daemon.store.chain import contents
from daemon.store.chain.contents import (
    ADOPTED,
    FIRING,
    JOINED,
    JOINING,
    MILESTONES,
    NUMBERED,
    PARTS,
    READINGS,
    STATES,
)
from daemon.store.chain.links import START, Link, head_after, own_of


class How(StrEnum):
    """In which way something is not as it was kept."""

    CHANGED = "changed"
    MISSING = "missing"
    ADDED = "added"
    CHAIN = "chain"
    """The link itself was changed, moved, or lost its predecessor."""


class Fault(NamedTuple):
    """One thing that is not as it was kept; ``kind`` and ``ref`` as in a link."""

    how: How
    kind: str
    ref: int


_NOTHING = own_of(None)
"""Of what is not there, such as a meter's figure that was taken out."""
Own = tuple[str, int, bytes]
"""Kind, number and SHA-256 of something that is kept."""


def kept(db: sqlite_utils.Database, firing_id: int) -> Iterator[Own]:
    """Yield all that is kept of a firing and can have a link, ten minutes of readings at a time."""
    yield FIRING, 0, own_of(contents.firing(db, firing_id))
    for block, rows in groupby(contents.readings(db, firing_id), contents.block_of):
        yield READINGS, block, own_of(list(rows))
    for kind, ref in contents.present(db, firing_id):
        if kind not in NUMBERED:
            yield kind, ref, own_of(contents.one(db, firing_id, kind, ref))
    for kind in NUMBERED:
        for ref, row in enumerate(contents.numbered(db, firing_id, kind), start=1):
            yield kind, ref, own_of(row)


def faults(chain: Sequence[Link], found: Iterable[Own], *, is_open: bool) -> list[Fault]:
    """Return what is not as it was kept.

    Parameters
    ----------
    chain
        The links of a firing, in the order of their numbers.
    found
        What is kept of it now.
    is_open
        Whether the firing runs: its last minutes, its parts and its milestones have no links yet.
    """
    wrong, wanted = _of_links(chain)
    sealed = max((ref for kind, ref in wanted if kind == READINGS), default=-1)
    seen = {(kind, ref) for (kind, ref), own in wanted.items()
            if kind in (ADOPTED, JOINED) or (kind in JOINING and own == _NOTHING)}
    joined = any(kind == JOINED for kind, _ in wanted)
    for kind, ref, own in found:
        if kind in JOINING and not joined:
            continue
        seen.add((kind, ref))
        due = wanted.get((kind, ref))
        if due is None:
            waits = is_open and (kind in (PARTS, MILESTONES) or (kind == READINGS and ref > sealed))
            if not waits:
                wrong.append(Fault(How.ADDED, kind, ref))
        elif due != own:
            wrong.append(Fault(How.CHANGED, kind, ref))
    return [*wrong, *(Fault(How.MISSING, kind, ref) for kind, ref in wanted if (kind, ref) not in seen)]


def _of_links(chain: Sequence[Link]) -> tuple[list[Fault], dict[tuple[str, int], bytes]]:
    """Return what is wrong with the links themselves, and what each kind and number is to be."""
    wrong: list[Fault] = []
    wanted: dict[tuple[str, int], bytes] = {}
    before = [START]
    for at, link in enumerate(chain):
        key = (link.kind, link.ref)
        twice = key in wanted and link.kind not in STATES
        due = [head_after(head, link.kind, link.ref, link.own) for head in before]
        if link.no != at or twice or link.head not in due:
            wrong.append(Fault(How.CHAIN, link.kind, link.ref))
        before = [link.head.hex(), due[0].hex()]  # where only this head was changed, the next link is in order
        wanted[key] = link.own
    return wrong, wanted
