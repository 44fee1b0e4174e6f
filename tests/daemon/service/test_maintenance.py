from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta

import pytest

from daemon.service import maintenance
from daemon.service.maintenance import Housekeeping
from daemon.store import firings, kilns
from daemon.store.database import open_database
from daemon.store.finding import search

NOW = datetime(2026, 3, 1, 4, 20, 0, tzinfo=UTC)


class Wall:
    def __init__(self):
        self.now = NOW

    def __call__(self):
        return self.now


@pytest.fixture
def wall():
    return Wall()


def test_a_photograph_is_copied_once_and_comes_back_with_the_record(record, wall):
    there = record.parent / "photographs"
    there.mkdir()
    for name in ("aa-whole.jpg", "aa-small.jpg", "bb-whole.jpg.part"):
        (there / name).write_bytes(name.encode())
    keeper = Housekeeping(record, wall)
    assert keeper.photographs() == 2  # one half sent is none yet
    assert keeper.photographs() == 0
    (there / "cc-whole.jpg").write_bytes(b"later")
    assert keeper.photographs() == 1
    shutil.rmtree(there)
    shutil.copytree(record.parent / "backups" / "photographs", there)
    assert sorted(path.name for path in there.iterdir()) == ["aa-small.jpg", "aa-whole.jpg", "cc-whole.jpg"]
    assert (there / "aa-whole.jpg").read_bytes() == b"aa-whole.jpg"


def test_a_photograph_that_cannot_be_copied_stops_no_night(record, wall):
    (record.parent / "photographs").mkdir()
    (record.parent / "photographs" / "aa-whole.jpg").write_bytes(b"picture")
    (record.parent / "backups").mkdir()
    (record.parent / "backups" / "photographs").write_text("in the way", encoding="utf-8")
    keeper = Housekeeping(record, wall)
    keeper.night()
    assert [s.split(":")[0] for s in keeper.trouble] == ["The nightly backup of the photographs failed"]
    assert list((record.parent / "backups").glob("lehrling-*.db"))
    (record.parent / "backups" / "photographs").unlink()
    keeper.night()
    assert keeper.trouble == []


def test_the_traces_of_older_firings_are_thinned_some_a_night(record, wall, monkeypatch):
    monkeypatch.setattr(maintenance, "THINNED_A_NIGHT", 2)
    db = open_database(record)
    kiln = kilns.kiln_id(db, "Another kiln")
    probe = kilns.probe_id(db, kiln, "p", "K")
    for number in range(3):
        one = firings.open_firing(db, kiln_id=kiln, probe_id=probe, title=f"{number}", opened_by="maker",
                                  started_utc=NOW, boot_id="a", clock_s=0.0)
        firings.end_firing(db, one, 100.0, NOW, "maker")
    db.execute("DELETE FROM thinned_trace")
    keeper = Housekeeping(record, wall)
    keeper.night()
    assert keeper.trouble == []
    assert db.execute("SELECT count(*) FROM thinned_trace").fetchone()[0] == 2
    assert (keeper.thin(), keeper.thin()) == (1, 0)
    db.close()


def test_firings_of_an_older_version_get_their_chain_some_a_night_once_the_clock_is_set(record, wall, monkeypatch):
    monkeypatch.setattr(maintenance, "THINNED_A_NIGHT", 1)
    db = open_database(record)
    kiln = kilns.kiln_id(db, "Another kiln")
    probe = kilns.probe_id(db, kiln, "p", "K")
    for number in range(2):
        one = firings.open_firing(db, kiln_id=kiln, probe_id=probe, title=f"{number}", opened_by="maker",
                                  started_utc=NOW, boot_id="a", clock_s=0.0)
        firings.end_firing(db, one, 100.0, NOW, "maker")
    db.execute("DELETE FROM link")
    assert Housekeeping(record, wall, clock_is_set=lambda: False).chain() == 0
    keeper = Housekeeping(record, wall)
    keeper.night()
    assert keeper.trouble == []
    assert db.execute("SELECT count(DISTINCT firing_id) FROM link").fetchone()[0] == 1
    assert (keeper.chain(), keeper.chain()) == (1, 0)
    db.close()


def test_a_sound_record_is_checked_once_a_week(record, wall):
    keeper = Housekeeping(record, wall)
    assert keeper.check() is True
    wall.now += timedelta(days=6)
    assert keeper.check() is False
    wall.now += timedelta(days=1)
    assert keeper.check() is True
    wall.now -= timedelta(days=400)  # the clock was wrong: check rather than wait a year
    assert keeper.check() is True


def test_an_index_of_words_that_differs_is_made_again_with_the_weekly_check(record, wall):
    db = open_database(record)
    db.execute("INSERT INTO written (rowid, words) VALUES (999999, 'stray')")
    db.conn.commit()
    assert not search.is_whole(db)
    assert Housekeeping(record, wall).check() is True
    assert search.is_whole(db)
    db.close()


def test_a_damaged_record_is_told_until_it_is_mended(record, wall):
    whole = record.read_bytes()
    torn = bytearray(whole)
    torn[len(torn) // 2:len(torn) // 2 + 40_960] = bytes(40_960)
    record.write_bytes(torn)
    keeper = Housekeeping(record, wall)
    keeper.night()
    assert len(keeper.trouble) >= 1
    assert any("check of the record failed" in sentence for sentence in keeper.trouble)
    record.write_bytes(whole)
    keeper.night()
    assert keeper.trouble == []


def test_a_missing_record_stops_no_night(tmp_path, wall):
    keeper = Housekeeping(tmp_path / "lehrling.db", wall)
    keeper.night()
    assert len(keeper.trouble) == 2


def test_what_is_done_often_is_done_soon_after_the_start_first():
    first_utc = datetime(2126, 3, 1, 20, 0, 5, tzinfo=UTC)
    scheduler = maintenance.start(lambda: None, "Europe/Vienna", often=(120, lambda: None), first_utc=first_utc)
    job = scheduler.get_job("often")
    scheduler.shutdown()
    assert job.next_run_time == first_utc


def test_the_night_is_planned_so_that_a_missed_one_is_made_up_for_once():
    scheduler = maintenance.start(lambda: None, "Europe/Vienna")
    (job,) = scheduler.get_jobs()
    scheduler.shutdown()
    assert (job.coalesce, job.misfire_grace_time, job.max_instances) == (True, None, 1)
    assert str(job.trigger) == "cron[hour='4', minute='20']"
    assert str(job.next_run_time.tzinfo) == "Europe/Vienna"
