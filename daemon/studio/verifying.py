"""What was collected, held against its chains: each entry there once, in order, with its hash."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple

from daemon.store.chain import contents
from daemon.store.chain.check import Fault, Own, faults
from daemon.store.chain.contents import READINGS
from daemon.store.chain.links import Link, own_of
from daemon.studio.checking import digests

if TYPE_CHECKING:
    import psycopg

    Connection = psycopg.Connection[Any]


class Collected(NamedTuple):
    """One firing that was collected.

    Attributes
    ----------
    box
        The name of its box.
    since_utc
        When the record was begun; tells two records of one name apart.
    faults
        What is not as the box kept it.
    """

    box: str
    since_utc: str
    firing_id: int
    links: int
    readings: int
    head: str
    faults: tuple[Fault, ...]


def verify(db: Connection) -> Iterator[Collected]:
    """Yield each firing that was collected and not deleted since; one is held at a time."""
    with db.transaction():
        firings = db.execute(
            "SELECT box, name, began_utc, firing_id, f.state = 'open' FROM lehrling.firing AS f"
            " JOIN lehrling.box USING (box) WHERE f.state != 'emptied' ORDER BY box, firing_id").fetchall()
    for box, name, since, firing_id, is_open in firings:
        with db.transaction():
            chain = [Link(*row) for row in db.execute(
                "SELECT no, kind, ref, own, head FROM lehrling.link WHERE box = %s AND firing_id = %s ORDER BY no",
                [box, firing_id])]
            readings = [list(row) for row in db.execute(
                "SELECT t_s, temp_128, below_128, above_128, fault FROM lehrling.reading WHERE box = %s"
                " AND firing_id = %s ORDER BY t_s", [box, firing_id])]
            kept = [(kind, ref, digests(text)) for kind, ref, text in db.execute(
                "SELECT kind, ref, content::text FROM lehrling.kept WHERE box = %s AND firing_id = %s",
                [box, firing_id])]
        wrong = faults(chain, _owns(readings, kept), is_open=is_open)
        yield Collected(name, since, firing_id, len(chain), len(readings), chain[-1].head.hex() if chain else "",
                        tuple(wrong))


def _owns(readings: list[list[int | None]], kept: list[Own]) -> Iterator[Own]:
    for block, rows in groupby(readings, contents.block_of):
        yield READINGS, block, own_of(list(rows))
    yield from kept
