"""The disk is full, locked, read-only or damaged: the watch goes on from memory and catches up."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from pathlib import Path
from queue import SimpleQueue

import pytest

from daemon.notify.alert_messages import Channel
from daemon.notify.unstored import FIRST_NUMBER, BoxAndMemory
from daemon.service.control_socket import Call
from daemon.store import alerts, firing_list, found_parts, outbox, readings
from daemon.store.database import create_database, open_database, open_unwritable
from daemon.store.outbox import Mark
from daemon.store.stamps import stamp
from daemon.store.write_queue import Journal


def _times(studio):
    return [s.t_s for s in studio.see(lambda db: readings.samples(db, studio.firing().firing_id))]


def _expected(seconds):
    return [5.0 * i for i in range(int(seconds) // 5 + 1)]


class FileBox:
    """The studio's outbox, by a connection for each look."""

    def __init__(self, studio):
        self.studio = studio

    def pending(self, channel):
        return self.studio.see(lambda db: outbox.pending(db, channel))

    def mark(self, marks):
        db = open_database(self.studio.path)
        outbox.mark(db, marks)
        db.close()
        return True


def _cause_full(studio, full_disk):
    full_disk.begin()
    return full_disk.end


def _cause_locked(studio, _):
    other = sqlite3.connect(studio.path)
    other.execute("BEGIN IMMEDIATE")

    def end():
        other.rollback()
        other.close()
    return end


def _cause_read_only(studio, _):
    def read_only(db):
        db.execute("PRAGMA query_only = ON")
    studio.on_open = read_only
    read_only(studio.journal.database())

    def end():
        studio.on_open = lambda db: None
    return end


def _cause_gone(studio, _):
    def gone(db):
        raise OSError(5, "Input/output error")
    studio.on_open = gone
    studio.journal.database().close()  # what was open fails too

    def end():
        studio.on_open = lambda db: None
    return end


@pytest.mark.parametrize("cause", [_cause_full, _cause_locked, _cause_read_only, _cause_gone])
def test_the_watch_goes_on_tells_within_a_minute_and_catches_up(studio, full_disk, cause):
    studio.start_firing()
    studio.run(60)
    end = cause(studio, full_disk)
    studio.run(60)
    (trouble,) = studio.present()["trouble"]
    told = trouble["text"]
    assert trouble["ailing"] == "record"
    assert told.startswith("Storage: the record can't be written (")
    assert "Watching goes on from memory" in told
    assert studio.present()["t_s"] >= 115
    studio.run(600)
    assert studio.journal.waiting >= 130
    end()
    studio.run(40)
    assert studio.present()["trouble"] == []
    assert _times(studio) == _expected(760)
    assert studio.see(lambda db: found_parts.gaps(db, studio.firing().firing_id)) == []
    assert studio.see(lambda db: db.execute("PRAGMA integrity_check").fetchone()[0]) == "ok"


def test_alerts_go_on_from_memory_and_are_stored_when_the_disk_works_again(slumped, full_disk):
    studio, _ = slumped(cooling_c_per_h=180.0, past_anneal_s=-600)
    end = _cause_full(studio, full_disk)
    studio.run(3000)
    standing = [alert for alert in studio.present()["alerts"] if alert["rank"] == "wake"]
    assert standing
    assert studio.see(lambda db: alerts.alerts(db, studio.firing().firing_id)) == []
    end()
    studio.run(10)
    stored = studio.see(lambda db: alerts.alerts(db, studio.firing().firing_id))
    assert [alert.no for alert in stored] == [alert["no"] for alert in studio.present()["alerts"]]
    assert {alert.rank.value for alert in stored} >= {"wake"}


def test_an_acknowledgement_by_the_socket_counts_while_nothing_can_be_written(studio, full_disk):
    studio.start_firing()
    studio.run(10)
    end = _cause_full(studio, full_disk)
    call = Call("said", {"what": "vented"})
    studio.service._inbox._calls = calls = SimpleQueue()
    calls.put(call)
    studio.run(2)
    assert call.outcome == "done"
    assert studio.see(lambda db: found_parts.said(db, studio.firing().firing_id)) == []
    end()
    studio.run(10)
    assert [s.what for s in studio.see(lambda db: found_parts.said(db, studio.firing().firing_id))] == ["vented"]


def test_a_firing_that_a_climb_opens_while_nothing_can_be_written_is_kept_afterwards(studio, full_disk):
    studio.run(60)
    end = _cause_full(studio, full_disk)
    began = studio.clock.now_s()
    studio.says = lambda s: 21.0 + max(0.0, s - began) * 300 / 3600
    studio.run(900)
    assert studio.present()["firing_id"] is None
    assert studio.present()["t_s"] > 600
    assert studio.see(lambda db: firing_list.matching(db)) == []
    end()
    studio.run(10)
    firing = studio.firing()
    assert firing.opened_by == "climb"
    assert studio.present()["firing_id"] == firing.firing_id
    assert _times(studio) == _expected(_times(studio)[-1])


def test_a_file_that_can_be_read_only_later_is_gone_on_with_then(studio):
    firing = studio.start_firing()
    studio.run(60)
    studio.kill()

    def gone(db):
        raise sqlite3.OperationalError("disk I/O error")

    studio.on_open = gone
    studio.clock.pass_s(20)
    studio.start()
    studio.run(60)
    assert studio.present()["firing_id"] is None
    assert studio.present()["trouble"]
    studio.on_open = lambda db: None
    studio.run(20)
    assert studio.present()["firing_id"] == firing.firing_id
    assert studio.firing() == firing
    times = _times(studio)
    (gap,) = studio.see(lambda db: found_parts.gaps(db, firing.firing_id))
    assert (gap.from_s, 80 < gap.to_s < 90) == (60, True)
    assert times[-1] >= 150  # what was read before the file could be is kept too
    assert len([t for t in times if t > 60]) >= 14


def test_a_firing_left_open_on_a_disk_that_takes_no_writing_is_watched_by_its_plan(studio, slump):
    studio.start_firing(plan_id=slump)
    began = studio.clock.now_s()
    studio.says = lambda s: 21.0 + (s - began) * 400 / 3600
    studio.run(600)
    firing = studio.firing()
    studio.kill()
    taken = []

    def gone(db):
        taken.append(db)
        raise sqlite3.OperationalError("database or disk is full")

    studio.on_open = gone
    studio.clock.pass_s(60)
    studio.start(reader=lambda: open_unwritable(studio.path))
    studio.run(600)
    assert studio.journal.database() is None
    assert (studio.present()["firing_id"], studio.present()["part"]["step"]) == (firing.firing_id, 1)
    studio.on_open = lambda db: None
    studio.run(40)
    assert studio.present()["trouble"] == []
    (gap,) = studio.see(lambda db: found_parts.gaps(db, firing.firing_id))
    assert (gap.from_s, gap.to_s) == (600, 665)
    assert _times(studio)[-1] >= 1295


def test_a_file_closed_in_order_can_be_read_where_nothing_can_be_written(tmp_path, full_disk):
    db = create_database(tmp_path / "lehrling.db")
    db.execute("INSERT INTO kiln (name) VALUES ('Kiln')")
    db.close()
    assert [path.name for path in tmp_path.iterdir()] == ["lehrling.db"]
    full_disk.begin()
    with pytest.raises(sqlite3.OperationalError):
        open_database(tmp_path / "lehrling.db", readonly=True)
    db = open_unwritable(tmp_path / "lehrling.db")
    assert [row["name"] for row in db.query("SELECT name FROM kiln")] == ["Kiln"]
    db.close()


def test_a_damaged_file_stops_no_watch(tmp_path, studio, caplog):
    studio.start_firing()
    studio.run(60)
    studio.kill()
    studio.path.write_bytes(b"no database at all, by a broken card" * 400)
    for more in studio.folder.glob("lehrling.db-*"):
        more.unlink()
    studio.start()
    studio.run(30)
    assert studio.present()["temp_c"] == 21.0
    assert "not a database" in studio.present()["trouble"][0]["text"]


def test_memory_has_an_end_and_plain_readings_go_first(tmp_path):
    def fails():
        raise sqlite3.OperationalError("disk I/O error")

    journal = Journal(fails, fails, most_waiting=3)
    kept = []
    journal.write([lambda db: kept.append("alert")])
    for number in range(5):
        journal.write([lambda db, number=number: kept.append(number)], readings_only=True)
    assert (journal.waiting, journal.dropped) == (3, 3)
    assert "3 readings were lost" in journal.trouble[1]
    journal._opener = lambda: create_database(tmp_path / "lehrling.db")
    assert journal.flush()
    assert kept == ["alert", 3, 4]
    journal.close()


def test_an_entry_that_fails_for_the_disk_s_sake_waits_and_is_not_dropped(studio):
    studio.start_firing()
    failing = [True]

    def op(db):
        if failing[0]:
            raise sqlite3.OperationalError("disk I/O error")
        db.execute("INSERT INTO kiln (name) VALUES ('late')")

    studio.journal.write([op])
    studio.run(10)
    assert studio.journal.waiting == 3
    assert studio.journal.refused == 0
    failing.clear()
    failing.append(False)
    studio.run(5)
    assert studio.journal.waiting == 0
    assert "late" in studio.see(lambda db: [row["name"] for row in db.query("SELECT name FROM kiln")])


def test_an_entry_the_file_refuses_is_told_and_no_obstacle_to_the_rest(studio, caplog):
    studio.start_firing()
    studio.run(10)
    studio.journal.write([lambda db: db.execute("INSERT INTO note (firing_id, wall_utc, text) VALUES (99, '', '')")])
    studio.run(10)
    assert _times(studio) == _expected(20)
    assert studio.present()["trouble"] == [
        {"ailing": "record", "text": "Storage: 1 entries could not be kept; the log tells why."}]
    assert "FOREIGN KEY" in caplog.text


def test_a_batch_is_kept_all_or_nothing(studio):
    studio.start_firing()

    def fails(db):
        raise ValueError("half-way")

    studio.journal.write([lambda db: db.execute("INSERT INTO kiln (name) VALUES ('half')"), fails])
    assert studio.see(lambda db: [row["name"] for row in db.query("SELECT name FROM kiln")]) == ["Back room kiln"]


def test_the_page_can_write_while_the_daemon_does(studio):
    studio.start_firing()
    page = open_database(studio.path)
    for _ in range(20):
        page.execute("INSERT INTO note (firing_id, wall_utc, text) VALUES (1, '', 'x')")
        studio.run(5)
    page.close()
    assert studio.present()["trouble"] == []
    assert _times(studio) == _expected(100)


def test_messages_pass_the_record_by_while_it_cannot_be_written_and_are_in_the_outbox_afterwards(
        studio, slump, full_disk):
    studio.kill()
    studio.config = replace(studio.config, channels=(Channel("phone", Path("phone.url")),))
    studio.start()
    studio.start_firing(plan_id=slump)
    studio.says = lambda s: 700.0
    end = _cause_full(studio, full_disk)
    studio.run(300)
    told = studio.present()["unkept"]
    assert [(message["channel"], message["rank"]) for message in told][:1] == [("phone", "wake")]
    assert told[0]["title"].startswith("GET UP: kiln too hot")
    box = BoxAndMemory(FileBox(studio), studio.folder, "none.sock", "present.json")
    assert box.changed()
    waiting = box.pending("phone")
    assert [message.title for message in waiting] == [message["title"] for message in told]
    box.mark([Mark(waiting[0].outbox_id, 1, sent_utc=studio.clock.utc())])
    end()
    studio.run(10)
    assert studio.present()["unkept"] == []
    box.changed()
    left = box.pending("phone")
    came = [stamp(message.created_utc) for message in left]  # it has sounded again meanwhile
    assert came[:len(told) - 1] == [message["created_utc"] for message in told[1:]], "none lost"
    assert told[0]["created_utc"] not in came, "none twice"
    assert all(message.outbox_id < FIRST_NUMBER for message in left)


def test_a_message_from_memory_whose_mark_is_not_stored_yet_is_not_sent_again(studio):
    (studio.folder / "state.json").write_text(json.dumps({"unkept": [
        {"channel": "phone", "title": "WAKE", "body": "b", "created_utc": "2026-11-25T02:10:00.000Z",
         "change": "raised", "rank": "wake"}]}))

    class Unreadable:
        def pending(self, channel):
            return None

        def mark(self, marks):
            return False

    box = BoxAndMemory(Unreadable(), studio.folder, "none.sock", "state.json")
    assert box.changed()
    assert not box.changed()
    message, = box.pending("phone")
    assert box.mark([Mark(message.outbox_id, 1, sent_utc=studio.clock.utc())])
    assert box.pending("phone") is None
    assert box.pending("mail") is None


def test_a_record_that_somebody_deletes_under_an_open_firing_loses_nothing(studio):
    studio.start_firing()
    studio.run(60)
    for file in studio.folder.glob("lehrling.db*"):
        file.unlink()
    studio.run(60)
    (trouble,) = studio.present()["trouble"]
    assert trouble["ailing"] == "record"
    assert "was deleted while Lehrling ran. It was written anew, and nothing is lost." in trouble["text"]
    studio.kill()
    studio.start()
    studio.run(60)
    assert studio.present()["trouble"] == []
    assert _times(studio) == _expected(180)
