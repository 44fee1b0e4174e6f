"""A logger's file kept as a firing: judged as if it had been live, with the file and a note on how it was read."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import NamedTuple

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.events import Sample
from daemon.firing.setup import Setup
from daemon.foreign_traces.readings import Readings
from daemon.foreign_traces.understanding import Understanding, description
from daemon.lifecycle.keep_whole import judge_whole, keep_whole
from daemon.store import firings, kilns, notes, plans
from daemon.store.chain import links, source_file
from daemon.store.chain.contents import SOURCE
from daemon.store.database import transaction
from daemon.store.readings import quantise

PROBE, UNKNOWN_TYPE = "another logger’s thermocouple", "unknown"


class Facts(NamedTuple):
    """What the maker says of the firing."""

    title: str
    kiln: str
    plan_toml: str | None
    glass: str
    """A built-in family, or a glass as TOML."""
    setup: Setup
    pieces: tuple[int, ...] = ()
    """Numbers of the pieces that lay in it."""


def keep(db: sqlite_utils.Database, name: str, data: bytes, found: Understanding, readings: Readings, facts: Facts,
         began: datetime, now_utc: datetime) -> int:
    """Keep the firing that a file holds and return its number; all of it or nothing.

    Parameters
    ----------
    db
        The record.
    name, data
        The file.
    found, readings
        How it was read, and what it holds.
    facts
        What the maker says of it.
    began
        When the first row was read.
    now_utc
        Wall time.

    Raises
    ------
    BadInput
        Where this very file was taken in before, is too long to be kept, or a firing runs in that kiln.
    """
    mark = f"imported-{sha256(data).hexdigest()}"
    before = db.execute("SELECT firing_id FROM firing WHERE start_boot_id = ?", [mark]).fetchone()
    if before is not None:
        raise BadInput(name, f"was taken in before, as firing {before[0]}.", "Look at it there; nothing was stored.")
    samples = [Sample(s.t_s, None if s.temp_c is None else quantise(s.temp_c), s.fault) for s in readings.samples]
    judged, packed = judge_whole(replace(facts.setup, was_watched=False), samples), source_file.pack(data)
    with transaction(db):
        kiln = kilns.kiln_id(db, facts.kiln)
        running = firings.current(db, kiln)
        if running is not None:
            raise BadInput(f"“{facts.kiln}”", f"“{running.title}” runs in this kiln.",
                           "Import the file when that firing has ended, or give another name of the kiln.")
        plan_id = None if facts.plan_toml is None else plans.add_plan(db, facts.plan_toml, now_utc)
        firing_id = keep_whole(
            db, judged, began, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, PROBE, UNKNOWN_TYPE),
            title=facts.title, opened_by="maker", boot_id=mark, plan_id=plan_id, glass=facts.glass,
            thickness_mm=facts.setup.thickness_mm, faces=facts.setup.faces, piece_ids=facts.pieces)
        source_file.put(db, firing_id, name, data, now_utc, packed)
        links.add(db, firing_id, (SOURCE, 0))
        notes.add_note(db, firing_id, source_note(name, data, found, readings),
                       began + timedelta(seconds=samples[-1].t_s))
    return firing_id


def refuse_too_long(name: str, size: int) -> None:
    """Refuse a file that is too long to be kept with its firing [bytes].

    Raises
    ------
    BadInput
        Where it is.
    """
    most = source_file.MOST_BYTES
    if size > most:
        raise BadInput(name, f"has {size / 2**20:.1f} MB; at most {most // 2**20} MB are taken, since the file is "
                       "kept with the firing.",
                       "Cut it to the rows of this one firing, with the names of the columns.")


def began_as_said(said: str, found: Understanding, called: str) -> datetime:
    """Return when the first row was read, as the maker says: 2026-03-04T20:30, in the logger's time zone.

    Raises
    ------
    BadInput
        Where that is no moment; ``called`` is what to call it.
    """
    try:
        began = datetime.fromisoformat(said)
        return (began if began.tzinfo else began.replace(tzinfo=found.zone)).astimezone(UTC)
    except (ValueError, OverflowError):
        raise BadInput(f"{called} {said}", "is no moment.", "Write it as 2026-03-04T20:30.") from None


def source_note(name: str, data: bytes, found: Understanding, readings: Readings) -> str:
    """Return where a firing comes from, and how its file was read."""
    read = "; ".join(f"{heading}: {words}" for heading, words in description(found))
    done = "".join(f" {note}" for note in readings.notes)
    return f"Taken in from {name} of another logger (SHA-256 {sha256(data).hexdigest()}). Read as: {read}.{done}"
