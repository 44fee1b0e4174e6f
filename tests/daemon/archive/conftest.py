"""Records with something of everything that an archive carries."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256

import pytest

from daemon.archive.export import write_archive
from daemon.archive.source import open_archive
from daemon.archive.take_in import take_in
from daemon.firing.events import Alert, AlertChanged, Milestone, Part, Rank, Said, Sample, Saying, Text
from daemon.store import (
    alerts,
    firings,
    found_parts,
    judgements,
    kilns,
    notes,
    outcomes,
    photographs,
    pieces,
    plans,
    readings,
)
from daemon.store.chain import links, source_file
from daemon.store.database import create_database, open_database, transaction
from daemon.store.found_parts import ClockMark, Gap
from daemon.store.wear import calibrations, heat, part_changes
from daemon.store.wear.calibrations import Calibration

NOW = datetime(2026, 3, 1, 20, 0, 0, tzinfo=UTC)
PLAN = 'title = "Slump"\nunit = "C"\n\n[[step]]\nrate = 100\nto = 640\nhold_min = 10\n'
ALERT = Alert(1, "hold-cut-short", Rank.LOOK, 90.0, 100.0, step=1,
              text=Text("The hold ended early, ½ h.", "Short.", "Look.", 60.0))
PICTURE = b"\xff\xd8 a picture"
MARK = sha256(PICTURE).hexdigest()


class Box:
    """A data folder with a record."""

    def __init__(self, folder, empty):
        folder.mkdir()
        self.folder = folder
        (folder / "lehrling.db").write_bytes(empty)
        create_database(folder / "lehrling.db").close()

    @contextmanager
    def db(self):
        found = open_database(self.folder / "lehrling.db")
        try:
            yield found
        finally:
            found.close()

    def fire(self, title="Bowl", boot_id="boot-a", *, samples=None, note="Grün, vent open.", source=b"s;C\n0;20\n"):
        """Keep a firing that has ended with something of everything; return its number."""
        with self.db() as db:
            kiln = kilns.kiln_id(db, "Back room kiln")
            piece = pieces.add_piece(db, name=f"Piece of {title}", glass="90", thickness_mm=6.0, now_utc=NOW)
            number = firings.open_firing(
                db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title=title, opened_by="maker",
                started_utc=NOW, boot_id=boot_id, clock_s=0.1, plan_id=plans.add_plan(db, PLAN, NOW),
                piece_ids=[piece], offset_c=-1.5)
            readings.append(db, number, samples if samples is not None else [
                *(Sample(float(t), 20.0 + t / 128, low_c=19.5 + t / 128, high_c=21.0 + t / 128)
                  for t in range(0, 1800, 60)), Sample(1850.0, None, "open"), Sample(1855.0, 30.0, "range")])
            self._told(db, number, piece, note)
            firings.end_firing(db, number, 1855.0, NOW + timedelta(seconds=1855), "cold")
            judgements.add_judgement(db, number, {"peak_c": 34.5, "verdict": [], "glass": None}, "0", NOW)
            with transaction(db):
                source_file.put(db, number, f"{title}.csv", source, NOW)
                links.add(db, number, ("source", 0))
        return number

    def _told(self, db, number, piece, note):
        found_parts.add_said(db, number, Said(1400.0, Saying.VENTED))
        found_parts.add_said(db, number, Said(1410.0, Saying.CALL, temp_c=640.0))
        alerts.record(db, number, AlertChanged(100.0, "raised", ALERT), NOW)
        alerts.record(db, number, AlertChanged(160.0, "over", replace(ALERT, cleared_s=160.0)), NOW)
        found_parts.add_gap(db, number, Gap(0, 600, "no power"))
        found_parts.add_clock_mark(db, number, ClockMark(0, NOW, "boot-a", 0.1, True))
        found_parts.add_milestone(db, number, Milestone(900.0, "top", "Top reached.", 1, 640.0))
        found_parts.replace_parts(db, number, [Part(0, 1, "ramp", 0.0, 800.0, 98.5, None), Part(1, 1, "hold", 800.0)])
        notes.add_note(db, number, note, NOW)
        outcomes.add_outcome(db, firing_id=number, piece_id=piece, words=["clear"], place="", note="", now_utc=NOW)
        outcomes.add_outcome(db, firing_id=number, piece_id=None, words=[], place="rim", note="x", now_utc=NOW)
        heat.put_meter(db, number, 12.25, NOW)
        self.photograph(db, firing_id=number)
        self.photograph(db, piece_id=piece)

    def photograph(self, db, piece_id=None, firing_id=None):
        """Keep a photograph with its files."""
        (self.folder / "photographs").mkdir(exist_ok=True)
        for size, body in (("whole", PICTURE), ("small", b"\xff\xd8s"), ("thumb", b"\xff\xd8t")):
            (self.folder / "photographs" / f"{MARK}-{size}.jpg").write_bytes(body)
        photographs.add_photograph(db, piece_id=piece_id, firing_id=firing_id, moment="after", mark=MARK, width=4,
                                   height=3, caption="Rim", now_utc=NOW)

    def changed_part(self):
        """Keep a new thermocouple and a comparison of it."""
        with self.db() as db:
            kiln = kilns.kiln_id(db, "Back room kiln")
            part_changes.add_change(db, kiln, "thermocouple", date(2026, 2, 1), "new", NOW)
            calibrations.add(db, Calibration(0, kiln, None, "K", 2, "ice", "", 0.0, 0.5, 20.0, 60, 0.2, 0.1, 0.1, 0.1,
                                             0.1, NOW, False), UTC)

    def export(self, out, **how):
        with self.db() as db:
            return write_archive(db, self.folder, out, NOW, **how)

    def take(self, archive):
        with open_archive(archive) as source, self.db() as db:
            return take_in(source, db, self.folder, NOW)

    def dump(self):
        """Return every row of the record and every photograph."""
        with self.db() as db:
            rows = {table: db.execute(f"SELECT * FROM {table}").fetchall() for table in db.table_names()}
        folder = self.folder / "photographs"
        return rows, {path.name: path.read_bytes() for path in folder.glob("*")} if folder.is_dir() else {}


@pytest.fixture
def box(tmp_path, empty_database):
    """Return a function that makes a data folder with an empty record."""
    return lambda name: Box(tmp_path / name, empty_database)


@pytest.fixture(scope="session")
def box_in(empty_database):
    """Return a function that makes a data folder with an empty record at a path."""
    return lambda folder: Box(folder, empty_database)


@pytest.fixture
def archive(box, tmp_path):
    """Return the folder of an archive of two firings."""
    one = box("exported")
    one.fire()
    one.changed_part()
    one.fire("Dish", "boot-b")
    one.export(tmp_path / "archive")
    return tmp_path / "archive"
