"""Kilns and their probes; an owner mostly has one of each."""

from __future__ import annotations

from typing import NamedTuple

import sqlite_utils

from daemon.store.database import insert, transaction


def kiln_id(db: sqlite_utils.Database, name: str) -> int:
    """Return the id of the kiln called ``name``, made where there is none yet."""
    with transaction(db):
        found = find(db, name)
        return insert(db, "kiln", {"name": name}) if found is None else found


def find(db: sqlite_utils.Database, name: str) -> int | None:
    """Return the id of the kiln called ``name``; None where there is none."""
    row = db.execute("SELECT kiln_id FROM kiln WHERE name = ?", [name]).fetchone()
    return None if row is None else int(row[0])


def rename(db: sqlite_utils.Database, name: str, wanted: str) -> None:
    """Call a kiln by another name, its firings with it; where one has that name already, both stay as they are."""
    with transaction(db):
        if find(db, wanted) is None:
            db.execute("UPDATE kiln SET name = ? WHERE name = ?", [wanted, name])


def probe_id(db: sqlite_utils.Database, kiln: int, name: str, thermocouple_type: str) -> int:
    """Return the id of a kiln's probe, made where there is none like it yet."""
    with transaction(db):
        for row in db.query(
                "SELECT probe_id FROM probe WHERE kiln_id = ? AND name = ? AND thermocouple_type = ?",
                [kiln, name, thermocouple_type]):
            return int(row["probe_id"])
        return insert(db, "probe", {"kiln_id": kiln, "name": name, "thermocouple_type": thermocouple_type})


class Probe(NamedTuple):
    """A probe of a kiln."""

    probe_id: int
    name: str
    thermocouple_type: str


def probes(db: sqlite_utils.Database, kiln: int) -> list[Probe]:
    """Return a kiln's probes, the one met last at the end."""
    return [Probe(*row) for row in db.execute(
        "SELECT probe_id, name, thermocouple_type FROM probe WHERE kiln_id = ? ORDER BY probe_id", [kiln])]


def kilns(db: sqlite_utils.Database) -> dict[int, str]:
    """Return the names of the kilns by id."""
    rows = db.query("SELECT kiln_id, name FROM kiln ORDER BY kiln_id")
    return {row["kiln_id"]: row["name"] for row in rows}
