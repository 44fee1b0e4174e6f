"""A record of so many firings as a studio would have it after years: simulated, judged, kept, and repeated.

A few firings are simulated, judged and kept by the functions that the service uses. All others are copies of these
with another date, title, load, notes and outcome. What is copied is written row by row as it stands; each copy has a
chain of its own, whose links hash what is kept of it, so that ``lehrling archive verify`` has its whole work.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from sqlite_utils import Database

from daemon.firing.plan.plan import parse_plan, write_plan
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from daemon.lifecycle.keep_whole import Judged, judge_whole, keep_whole
from daemon.store import firings, judgements, kilns, notes, outcomes, photographs, pieces, plans
from daemon.store.chain import contents, links
from daemon.store.chain.contents import FIRING, JUDGEMENT, NOTE, PARTS, READINGS
from daemon.store.database import FILE_NAME, create_database, transaction
from daemon.store.stamps import stamp
from simulations.firing import read_faults, simulate
from simulations.random_plans import on_paper
from web.pieces.reencoding_process import develop

READINGS_A_FIRING = 14_400
"""20 h with a reading every 5 s."""
PIECES_A_FIRING = NOTES_A_FIRING = PHOTOGRAPHS_A_FIRING = 2
THICKNESS_MM = 12.0
PLAN = write_plan(on_paper(
    "Thick fuse, 12 mm", "80/620, 40/670/45 squeeze, 200/800/15 top, free/516/120 anneal, 25/461, 45/406, 90/40"))
HOTTER = write_plan(on_paper(
    "Thick fuse against haze, 12 mm",
    "80/620, 40/670/30 squeeze, 200/810/20 top, free/516/120 anneal, 25/461, 45/406, 90/40"))
FIRED = ((PLAN, (), 41), (PLAN, ("cooling=3,25min@step5:ramp+60s",), 42), (HOTTER, (), 43))
"""Plan, faults and seed of each firing that is simulated. All of it is invented."""
_WORDS = ("river", "bowl", "tile", "crème", "amber", "skim", "powder", "rim", "mould", "ground", "edge", "paper",
          "white", "grey", "green", "slump", "frit", "wire", "door", "side", "thin", "film", "warm", "reed", "sand")
_CAME_OUT = ("as hoped", "clear", "haze", "mottle", "bubbles", "uneven slump")
_COPIED = {
    "reading": "t_s, temp_128, below_128, above_128, fault",
    "part": "seq, part_index, step, part, start_s, end_s, rate_c_per_h, mean_c",
    "alert": "no, kind, rank, since_s, raised_s, woke_s, cleared_s, acknowledged_s, step, under, named, what,"
             " meaning, advice, time_left_s, pieces",
    "milestone": "t_s, name, text, step, temp_c",
    "gap": "from_s, to_s, reason",
    "said": "t_s, what, alert_no, for_s, temp_c",
}
"""What a copy has in common with the firing it is a copy of: table and columns."""


@dataclass(frozen=True, slots=True)
class Grown:
    """A generated record."""

    firings: int
    readings: int
    """Stored readings of all firings."""
    bytes_of_readings: int
    """Of the tables of the readings and of their chains [bytes]; all links count as theirs."""
    bytes_in_all: int
    """The database file."""
    piece: str
    """Name of a piece of the latest firing."""


@dataclass(frozen=True, slots=True)
class _Studio:
    """What all firings of the record share."""

    db: Database
    kiln_id: int
    probe_id: int
    plan_ids: tuple[int, ...]
    chance: random.Random
    marks: tuple[str, ...]


def grow(folder: Path, count: int, readings: int, now_utc: datetime) -> Grown:
    """Make a record of ``count`` firings with ``readings`` readings each in an empty folder.

    Parameters
    ----------
    folder
        Empty; the record and its photographs go there.
    count
        How many firings, at least as many as are simulated.
    readings
        Of each firing, 5 s apart; a simulated firing that is longer is cut off there.
    now_utc
        The latest firing lies two days before this, each earlier one a day before the next.

    Raises
    ------
    ValueError
        Where there are to be fewer firings than are simulated.
    """
    if count < len(FIRED):
        raise ValueError(f"a record of {count} firings: make at least {len(FIRED)}")
    db = create_database(folder / FILE_NAME)
    db.execute("PRAGMA synchronous = OFF")  # nothing of it need outlive a power cut
    kiln = kilns.kiln_id(db, "Kiln")
    studio = _Studio(db, kiln, kilns.probe_id(db, kiln, "bench", "K"),
                     tuple(plans.add_plan(db, plan, now_utc) for plan, _, _ in FIRED), random.Random(1),
                     _thumbnails(folder, count * PHOTOGRAPHS_A_FIRING))
    for number in range(count):
        with transaction(db):
            _keep(studio, number, readings, now_utc - timedelta(days=count - number + 1))
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    grown = Grown(count, *_sizes(db), f"Piece {count * PIECES_A_FIRING}")
    db.close()
    return grown


def _keep(studio: _Studio, number: int, readings: int, starts: datetime) -> None:
    """Keep a firing with its pieces, notes, outcomes and photographs; the first ones are the simulated ones."""
    db, chance, ended = studio.db, studio.chance, starts + timedelta(seconds=5 * readings)
    which = number % len(FIRED)
    load = [pieces.add_piece(
        db, name=f"Piece {number * PIECES_A_FIRING + one + 1}", glass="90", thickness_mm=THICKNESS_MM,
        layers=_text(chance, 5), note=_text(chance, 12), now_utc=starts) for one in range(PIECES_A_FIRING)]
    facts: dict[str, Any] = {"kiln_id": studio.kiln_id, "probe_id": studio.probe_id, "opened_by": "maker",
                             "title": _text(chance, 4).capitalize(), "boot_id": "grown", "glass": "90",
                             "plan_id": studio.plan_ids[which], "thickness_mm": THICKNESS_MM, "piece_ids": load,
                             "invented": True}
    if number < len(FIRED):
        firing_id = keep_whole(db, _judged(which, readings), starts, **facts)
    else:
        firing_id = firings.open_firing(db, started_utc=starts, clock_s=0.0, **facts)
        _copy(db, which + 1, firing_id, starts)
    for piece_id in load:
        outcomes.add_outcome(db, firing_id=firing_id, piece_id=piece_id, words=[chance.choice(_CAME_OUT)], place="",
                             note=_text(chance, 5), now_utc=ended)
    for _ in range(NOTES_A_FIRING):
        notes.add_note(db, firing_id, _text(chance, 15), ended)
    for one in range(PHOTOGRAPHS_A_FIRING):
        photographs.add_photograph(
            db, piece_id=load[one % PIECES_A_FIRING], firing_id=None, moment="after", width=192, height=144,
            mark=studio.marks[number * PHOTOGRAPHS_A_FIRING + one], caption=_text(chance, 3), now_utc=ended)


@cache
def _judged(which: int, readings: int) -> Judged:
    """Simulate a firing, cut it off after so many readings, and judge it."""
    toml, faults, seed = FIRED[which]
    plan = parse_plan(toml, "the benchmark's plan")
    samples = simulate(plan, faults=read_faults(faults, plan), seed=seed).samples[:readings]
    return judge_whole(Setup(plan, FAMILIES["90"], THICKNESS_MM), samples)


def _copy(db: Database, source: int, firing_id: int, starts: datetime) -> None:
    """Fill an open firing with what is kept of the firing ``source``, chain it and end it."""
    for table, columns in _COPIED.items():
        db.execute(f"INSERT INTO {table} (firing_id, {columns}) SELECT ?, {columns} FROM {table} WHERE firing_id = ?",
                   [firing_id, source])
    shift = starts - _started(db, source)
    for alert_id, t_s, wall_utc, change, kind, rank, what in db.execute(
            "SELECT mine.alert_id, t_s, wall_utc, change, t.kind, t.rank, t.what FROM transition AS t"
            " JOIN alert AS theirs USING (alert_id) JOIN alert AS mine USING (no)"
            " WHERE theirs.firing_id = ? AND mine.firing_id = ? ORDER BY transition_id",
            [source, firing_id]).fetchall():
        db.execute("INSERT INTO transition (alert_id, t_s, wall_utc, change, kind, rank, what)"
                   " VALUES (?, ?, ?, ?, ?, ?, ?)",
                   [alert_id, t_s, stamp(datetime.fromisoformat(wall_utc) + shift), change, kind, rank, what])
    _chain_readings(db, source, firing_id)
    links.add(db, firing_id, *[link for link in contents.present(db, firing_id)
                               if link[0] not in (FIRING, PARTS, NOTE, JUDGEMENT)])
    ended_s = db.execute("SELECT ended_s FROM firing WHERE firing_id = ?", [source]).fetchone()[0]
    ended = starts + timedelta(seconds=ended_s)
    firings.end_firing(db, firing_id, ended_s, ended, "cold")
    told = judgements.judgement(db, source)
    if told is not None:
        judgement_id = judgements.add_judgement(db, firing_id, told.told, told.version, ended)
        db.execute("INSERT INTO heat_use (firing_id, judgement_id, method, hot_s, kelvin_h, most_k, full_k, why)"
                   " SELECT ?, ?, method, hot_s, kelvin_h, most_k, full_k, why FROM heat_use WHERE firing_id = ?",
                   [firing_id, judgement_id, source])


def _chain_readings(db: Database, source: int, firing_id: int) -> None:
    """Add the links of readings that are the same as those of ``source``: equal content has an equal hash."""
    before = links.last(db, firing_id)
    if before is None:
        raise ValueError(f"firing {firing_id} has no chain")
    no, head, rows = before.no, before.head.hex(), []
    for ref, own in db.execute("SELECT ref, own FROM link WHERE firing_id = ? AND kind = ? ORDER BY ref",
                               [source, READINGS]):
        after = links.head_after(head, READINGS, ref, own)
        no, head = no + 1, after.hex()
        rows.append((firing_id, no, READINGS, ref, own, after))
    db.conn.executemany("INSERT INTO link (firing_id, no, kind, ref, own, head) VALUES (?, ?, ?, ?, ?, ?)", rows)


def _started(db: Database, firing_id: int) -> datetime:
    return datetime.fromisoformat(
        db.execute("SELECT started_utc FROM firing WHERE firing_id = ?", [firing_id]).fetchone()[0]).astimezone(UTC)


def _text(chance: random.Random, words: int) -> str:
    return " ".join(chance.choice(_WORDS) for _ in range(words))


def _thumbnails(folder: Path, count: int) -> tuple[str, ...]:
    """Keep a small picture under ``count`` marks; return the marks."""
    body = BytesIO()
    noise = Image.frombytes("RGB", (24, 18), random.Random(3).randbytes(24 * 18 * 3))
    noise.resize((192, 144), Image.Resampling.BICUBIC).save(body, "JPEG", quality=85)
    there = folder / photographs.FOLDER
    kept = develop(body, there).mark
    content = {file.name.removeprefix(kept): file.read_bytes() for file in there.glob(f"{kept}-*.jpg")}
    marks = tuple(f"{number:064x}" for number in range(count))
    for mark in marks:
        for ending, picture in content.items():
            (there / f"{mark}{ending}").write_bytes(picture)
    return marks


def _sizes(db: Database) -> tuple[int, int, int]:
    """Return the number of readings, the bytes of their tables, and those of the file."""
    count = db.execute("SELECT count(*) FROM reading").fetchone()[0]
    tables = db.execute("SELECT sum(pgsize) FROM dbstat WHERE name IN ('reading', 'link')").fetchone()[0]
    pages = db.execute("PRAGMA page_count").fetchone()[0] * db.execute("PRAGMA page_size").fetchone()[0]
    return int(count), int(tables), int(pages)
