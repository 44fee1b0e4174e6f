"""After a month in the bin nothing is kept of a firing but its number; before that, everything."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Alert, AlertChanged, Rank, Sample, Text
from daemon.service.maintenance import Housekeeping
from daemon.store import alerts, bin, firings, kilns, notes, outcomes, photographs, pieces, readings
from daemon.store.database import create_database
from daemon.store.wear import heat

NOW = datetime(2026, 3, 1, 4, 20, tzinfo=UTC)
MARK, OTHER = "a" * 64, "b" * 64


@pytest.fixture
def db(tmp_path):
    found = create_database(tmp_path / "lehrling.db")
    yield found
    found.close()


def _fired(db, title, *, ended=True):
    kiln = kilns.kiln_id(db, "Kiln")
    piece = pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6.0, now_utc=NOW)
    number = firings.open_firing(
        db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "hand", "K"), title=title, opened_by="maker",
        started_utc=NOW, boot_id="a", clock_s=0.0, piece_ids=[piece])
    readings.append(db, number, [Sample(5.0 * i, 20.0) for i in range(5000)])
    alert = Alert(1, "sudden-drop", Rank.LOOK, 10.0, 20.0, Text("It fell.", "A lid?", "Look.", None))
    alerts.record(db, number, AlertChanged(20.0, "raised", alert), NOW)
    notes.add_note(db, number, "A note", NOW)
    outcomes.add_outcome(db, firing_id=number, piece_id=None, words=["clear"], place="", note="", now_utc=NOW)
    outcomes.add_outcome(db, firing_id=number, piece_id=piece, words=["clear"], place="", note="", now_utc=NOW)
    for mark in (MARK, OTHER):
        photographs.add_photograph(db, piece_id=None, firing_id=number, moment="after", mark=mark, width=9, height=9,
                                   caption="", now_utc=NOW)
    photographs.add_photograph(db, piece_id=piece, firing_id=None, moment="after", mark=OTHER, width=9, height=9,
                               caption="", now_utc=NOW)
    heat.put_heat(db, number, heat.Heat(0.0, why="not-fired"), 1)
    heat.put_meter(db, number, 9.0, NOW)
    if ended:
        firings.end_firing(db, number, 25_000, NOW, "maker")
    return number


def _rows(db, number):
    """Return how many rows of each table belong to a firing."""
    tables = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    return {table: db.execute(f"SELECT count(*) FROM {table} WHERE firing_id = ?", [number]).fetchone()[0]
            for table in tables if "firing_id" in [c[1] for c in db.execute(f"PRAGMA table_info({table})")]}


def _keeper(tmp_path, now, **others):
    return Housekeeping(tmp_path / "lehrling.db", lambda: now, **others)


def test_after_thirty_days_everything_goes_but_the_number_and_the_other_firings(db, tmp_path):
    gone, kept = _fired(db, "Test"), _fired(db, "Deep dish")
    before = _rows(db, kept)
    for folder in ("photographs", "backups/photographs"):
        (tmp_path / folder).mkdir(parents=True)
        for mark in (MARK, OTHER):
            (tmp_path / folder / f"{mark}-whole.jpg").write_bytes(b"x")
    db.execute("DELETE FROM photograph WHERE firing_id = ? AND mark = ?", [kept, MARK])
    before["photograph"] -= 1
    bin.put_into_bin(db, gone, NOW)
    assert _keeper(tmp_path, NOW + timedelta(days=30, seconds=-1)).empty_bin() == 0
    assert _rows(db, gone)["reading"] == 5000
    assert _keeper(tmp_path, NOW + timedelta(days=30)).empty_bin() == 1
    left = _rows(db, gone)
    assert left.pop("firing") == 1
    assert set(left.values()) == {0}
    assert _rows(db, kept) == before
    assert db.execute("SELECT count(*) FROM transition").fetchone()[0] == 1
    assert list(db.execute("PRAGMA foreign_key_check")) == []
    assert sorted(p.name[0] for p in tmp_path.rglob("*.jpg")) == ["b", "b"]
    assert bin.in_bin(db) == []
    assert _fired(db, "The next one") == kept + 1
    bin.take_back(db, gone)
    assert firings.firing(db, gone).binned_utc is not None


def test_a_clock_that_is_not_set_empties_no_bin(db, tmp_path):
    bin.put_into_bin(db, _fired(db, "Test"), NOW)
    late = NOW + timedelta(days=9000)
    assert _keeper(tmp_path, late, clock_is_set=lambda: False).empty_bin() == 0
    assert len(bin.in_bin(db)) == 1


def test_the_store_itself_puts_no_running_firing_into_the_bin(db):
    bin.put_into_bin(db, _fired(db, "Runs", ended=False), NOW)
    assert bin.in_bin(db) == []


def test_every_table_of_a_firing_is_emptied(db):
    """A table that is added later must be named in ``bin``, or a deleted firing leaves rows behind."""
    number = _fired(db, "Test")
    tables = set(_rows(db, number)) - {"firing"}
    assert tables == {*bin._OF_A_FIRING, "reading", "alert"}
