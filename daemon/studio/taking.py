"""What was given and checked is kept: each batch in one transaction, and the mark moves in the same one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from daemon.store.chain.contents import BLOCK_S, JOINING, READINGS
from daemon.store.chain.links import own_of
from daemon.store.stamps import stamp
from daemon.studio.checking import BEGINNING, Mark, Reading, Taken, Unlike, as_text
from daemon.studio.given import THINNED

if TYPE_CHECKING:
    import psycopg

    Connection = psycopg.Connection[Any]

_READING = "COPY lehrling.reading (box, firing_id, t_s, temp_128, below_128, above_128, fault) FROM STDIN"
_LONGEST_S = 1e9
"""No state is older [s]. [derived: thirty years]"""
_FRESH = ("INSERT INTO lehrling.reading SELECT %s, %s, * FROM unnest(%s::int[], %s::int[], %s::int[], %s::int[],"
          " %s::int[]) ON CONFLICT DO NOTHING")
"""Most of the fresh readings came with the round before; what is there is not written again."""
_NOTHING = own_of(None)
"""The hash of a state that is gone, such as a meter reading that was taken back."""
_OF_A_FIRING = ("link", "kept", "reading")


def box_of(db: Connection, name: str, utc: datetime) -> int:
    """Return the number of the record that is collected under a name; made where there is none."""
    with db.transaction():
        row = db.execute("SELECT box FROM lehrling.box WHERE name = %s AND closed_utc IS NULL", [name]).fetchone()
        if row is None:
            row = db.execute("INSERT INTO lehrling.box (name, began_utc) VALUES (%s, %s) RETURNING box",
                             [name, stamp(utc)]).fetchone()
    assert row is not None
    return int(row[0])


def close_box(db: Connection, name: str, utc: datetime) -> bool:
    """Keep what was collected under a name as it is, and let a new record begin; return whether there was one."""
    with db.transaction():
        return db.execute("UPDATE lehrling.box SET closed_utc = %s, trouble = '' WHERE name = %s"
                          " AND closed_utc IS NULL", [stamp(utc), name]).rowcount == 1


def heard(db: Connection, box: int, overview: dict[str, Any], utc: datetime) -> None:
    """Keep the present state of a box, and that it was heard."""
    state, age_s = overview.get("state"), overview.get("state_age_s")
    with db.transaction():
        db.execute("UPDATE lehrling.box SET kiln = %s, lehrling = %s, state = %s, state_age_s = %s, heard_utc = %s"
                   " WHERE box = %s",
                   [_line(overview.get("kiln")), _line(overview.get("lehrling")),
                    as_text(state) if isinstance(state, dict) else None,
                    age_s if isinstance(age_s, int | float) and abs(age_s) < _LONGEST_S else None, stamp(utc), box])


def note(db: Connection, box: int, trouble: str, firings_mark: str | None = None) -> None:
    """Keep what is wrong with a box, empty where nothing is; and of which overview all was taken."""
    with db.transaction():
        db.execute("UPDATE lehrling.box SET trouble = %s, firings_mark = coalesce(%s, firings_mark) WHERE box = %s",
                   [_line(trouble), firings_mark, box])


def marks(db: Connection, box: int) -> dict[int, Mark]:
    """Return the mark of each firing of a box that was collected and not emptied."""
    with db.transaction():
        return {number: Mark(no, head.hex()) for number, no, head in db.execute(
            "SELECT firing_id, last_no, head FROM lehrling.firing WHERE box = %s AND state != 'emptied'", [box])}


def numbers(db: Connection, box: int, state: str | None = None) -> list[int]:
    """Return the firings of a box that were collected, the first one first; of one state where it is given."""
    with db.transaction():
        return [number for (number,) in db.execute(
            "SELECT firing_id FROM lehrling.firing WHERE box = %s AND state = coalesce(%s, state) ORDER BY firing_id",
            [box, state])]


def known(db: Connection, box: int) -> tuple[str, str]:
    """Return the marks of the overview, and of the plans and pieces, that were taken last."""
    with db.transaction():
        row = db.execute("SELECT firings_mark, studio_mark FROM lehrling.box WHERE box = %s", [box]).fetchone()
    return ("", "") if row is None else (str(row[0]), str(row[1]))


def without_rest(db: Connection, box: int) -> list[int]:
    """Return the firings of a box of which nothing is here but their chain."""
    with db.transaction():
        return [number for (number,) in db.execute(
            "SELECT firing_id FROM lehrling.firing WHERE box = %s AND beside_mark = '' ORDER BY firing_id", [box])]


def known_marks(db: Connection, box: int, some: Sequence[int]) -> dict[int, str]:
    """Return the mark of what is beside the chain of some firings."""
    with db.transaction():
        return dict(db.execute("SELECT firing_id, beside_mark FROM lehrling.firing WHERE box = %s"
                               " AND firing_id = ANY(%s)", [box, list(some)]).fetchall())


def take_links(db: Connection, box: int, firing_id: int, before: Mark, state: str, links: Sequence[Taken],
               fresh: Sequence[Reading] = ()) -> Mark:
    """Keep links with their contents, and readings that have no link yet, after the mark; return the new mark.

    Readings that came before their link are replaced by those of the link.

    Raises
    ------
    Unlike
        Where the mark here is not ``before``; nothing is kept then.
    """
    after = Mark(links[-1].no, links[-1].head.hex()) if links else before
    with db.transaction():
        _move(db, box, firing_id, before, after, state)
        with db.cursor() as cursor:
            cursor.executemany("INSERT INTO lehrling.link VALUES (%s, %s, %s, %s, %s, %s, %s)",
                               [(box, firing_id, *link[:5]) for link in links])
            cursor.executemany(
                "DELETE FROM lehrling.kept WHERE box = %s AND firing_id = %s AND kind = %s AND ref = %s",
                [(box, firing_id, link.kind, link.ref) for link in links
                 if link.kind in JOINING and link.own == _NOTHING])
            cursor.executemany(
                "INSERT INTO lehrling.kept VALUES (%s, %s, %s, %s, %s)"
                " ON CONFLICT (box, firing_id, kind, ref) DO UPDATE SET content = excluded.content",
                [(box, firing_id, link.kind, link.ref, link.text) for link in links if link.text is not None])
        blocks = [link.ref for link in links if link.kind == READINGS]
        for block in blocks:
            db.execute("DELETE FROM lehrling.reading WHERE box = %s AND firing_id = %s AND t_s >= %s AND t_s < %s",
                       [box, firing_id, block * BLOCK_S, (block + 1) * BLOCK_S])
        if blocks:
            _copy(db, box, firing_id, (row for link in links for row in link.readings))
        if fresh:
            db.execute(_FRESH, [box, firing_id, *(list(column) for column in zip(*fresh, strict=True))])
    return after


def _move(db: Connection, box: int, firing_id: int, before: Mark, after: Mark, state: str) -> None:
    """Move the mark of a firing, or make it; it must be where it is thought to be."""
    if before == BEGINNING:
        moved = db.execute("INSERT INTO lehrling.firing (box, firing_id, last_no, head, state) VALUES"
                           " (%s, %s, %s, %s, %s) ON CONFLICT DO NOTHING",
                           [box, firing_id, after.no, bytes.fromhex(after.head), state]).rowcount
    else:
        moved = db.execute("UPDATE lehrling.firing SET last_no = %s, head = %s, state = %s WHERE box = %s"
                           " AND firing_id = %s AND last_no = %s AND head = %s",
                           [after.no, bytes.fromhex(after.head), state, box, firing_id, before.no,
                            bytes.fromhex(before.head)]).rowcount
    if moved != 1:
        raise Unlike(f"firing {firing_id} was collected by another program meanwhile.")


def take_beside(db: Connection, box: int, rows: Iterable[tuple[int, str, Any]]) -> None:
    """Keep what is beside the chain of some firings: number, mark, content each."""
    with db.transaction(), db.cursor() as cursor:
        cursor.executemany(
            "UPDATE lehrling.firing SET beside_mark = %s, beside = %s, thinned = decode(%s, 'base64')"
            " WHERE box = %s AND firing_id = %s",
            [(mark, as_text({key: value for key, value in content.items() if key != THINNED}), content.get(THINNED),
              box, number) for number, mark, content in rows])


def take_studio(db: Connection, box: int, mark: str, content: dict[str, Any]) -> None:
    """Keep kilns, probes, plans and pieces in place of the earlier ones.

    Raises
    ------
    Unlike
        Where they can't be read.
    """
    try:
        rows = list(_things(content))
    except (KeyError, TypeError, AttributeError):
        raise Unlike("kilns, plans and pieces can't be read.") from None
    with db.transaction(), db.cursor() as cursor:
        cursor.execute("DELETE FROM lehrling.thing WHERE box = %s", [box])
        cursor.executemany("INSERT INTO lehrling.thing VALUES (%s, %s, %s, %s)",
                           [(box, kind, number, as_text(thing)) for kind, number, thing in rows])
        cursor.execute("UPDATE lehrling.box SET studio_mark = %s WHERE box = %s", [mark, box])


def empty(db: Connection, box: int, firing_id: int) -> None:
    """Remove all of a firing that its owner deleted for good, but its number."""
    with db.transaction():
        for table in _OF_A_FIRING:
            db.execute(f"DELETE FROM lehrling.{table} WHERE box = %s AND firing_id = %s".encode(), [box, firing_id])
        db.execute("UPDATE lehrling.firing SET state = 'emptied', beside_mark = '', thinned = NULL"
                   " WHERE box = %s AND firing_id = %s", [box, firing_id])


def _things(content: dict[str, Any]) -> Iterable[tuple[str, int, dict[str, Any]]]:
    for row in content["kilns"]:
        kiln = row["kiln"]
        yield "kiln", kiln, {"name": row["name"]}
        for change in row["part_change"]:
            yield "part_change", change["part_change"], {**change, "kiln_id": kiln}
        for number, one in enumerate(row["calibration"], start=1):
            yield "calibration", kiln * 1_000_000 + number, {
                **one, "kiln_id": kiln, "part_change_id": one["part_change"]}
    for kind in ("probe", "plan", "piece"):
        for row in content[f"{kind}s"]:
            yield kind, row[f"{kind}_id"], row


def _copy(db: Connection, box: int, firing_id: int, rows: Iterable[Reading]) -> None:
    with db.cursor() as cursor, cursor.copy(_READING) as copy:
        for row in rows:
            copy.write_row((box, firing_id, *row))


def _line(text: Any) -> str:
    """Return a text that PostgreSQL takes."""
    return text.encode(errors="replace").decode().replace("\0", "") if isinstance(text, str) else ""
