"""The way into the file: in order, a batch whole or not at all, and through times in which it can't be written."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess

import pytest

from daemon.store.database import create_database
from daemon.store.write_queue import MOST_WAITING, Batch, Journal


@pytest.fixture
def journal(path):
    made = Journal(lambda: create_database(path))
    yield made
    made.close()


def adding(name):
    return lambda db: db.execute("INSERT INTO kiln (name) VALUES (?)", [name])


def names(journal):
    return [row["name"] for row in journal.database().query("SELECT name FROM kiln ORDER BY kiln_id")]


def test_what_is_written_is_in_the_file_at_once_and_in_order(journal, path):
    assert journal.database() is None, "it is opened by the first write"
    assert journal.write([adding("one"), adding("two")])
    assert journal.write([])
    assert (names(journal), journal.waiting, journal.opened, journal.trouble) == (["one", "two"], 0, 1, [])
    other = sqlite3.connect(path)
    assert other.execute("SELECT count(*) FROM kiln").fetchone()[0] == 2
    other.close()


def test_a_batch_that_the_file_never_takes_is_dropped_whole_and_told(journal, caplog):
    assert journal.write([adding("half"), lambda db: db.execute("INSERT INTO kiln (name) VALUES (NULL)")])
    assert journal.write([lambda db: {}["missing"]])
    assert journal.write([adding("rest")])
    assert (names(journal), journal.refused) == (["rest"], 2)
    assert journal.trouble == ["Storage: 2 entries could not be kept; the log tells why."]
    assert caplog.text.count("could not be kept") == 2


class Locked:
    """An op that fails as a locked or full disk makes it, until ``lets_go``."""

    def __init__(self):
        self.lets_go, self.tries, self.told = False, 0, 0

    def __call__(self, db):
        self.tries += 1
        if not self.lets_go:
            raise sqlite3.OperationalError("disk I/O error")
        adding("late")(db)

    def kept(self):
        self.told += 1


def test_what_the_disk_refuses_waits_in_its_place_and_is_told_when_it_is_kept(journal):
    op = Locked()
    assert not journal.write([op])
    assert not journal.write([adding("behind")])
    assert (journal.waiting, names(journal), op.told) == (2, [], 0)
    assert journal.trouble == [
        "Storage: the record can't be written (disk I/O error). Watching goes on from memory; 2 entries wait to be "
        "kept."]
    op.lets_go = True
    assert journal.flush()
    assert (journal.waiting, names(journal), op.told, journal.trouble) == (0, ["late", "behind"], 1, [])


def test_catching_up_takes_one_transaction_to_see_that_it_goes_and_then_one_for_five_hundred(journal):
    op = Locked()
    journal.write([op])
    for number in range(1100):
        journal._waiting.append(Batch([adding(f"{number}")], readings_only=False))
    begun = []
    journal.database().conn.set_trace_callback(lambda sql: begun.append(sql) if sql.startswith("BEGIN") else None)
    op.lets_go = True
    assert journal.flush()
    assert len(begun) == 1 + 3
    assert len(names(journal)) == 1101


def test_while_it_fails_one_batch_at_a_time_is_tried(journal):
    first, second = Locked(), Locked()
    journal.write([first])
    journal.write([second])
    journal.flush()
    assert (first.tries, second.tries) == (3, 0)
    first.lets_go = True
    assert not journal.flush()
    assert (names(journal), journal.waiting, second.tries) == (["late"], 1, 1)
    second.lets_go = True


def test_a_damaged_file_is_nobody_s_fault_and_what_it_refuses_waits(journal):
    def damaged(db):
        raise sqlite3.DatabaseError("database disk image is malformed")

    assert not journal.write([damaged])
    assert (journal.waiting, journal.refused) == (1, 0)
    assert "malformed" in journal.trouble[0]
    journal._waiting.clear()


def test_an_error_without_words_is_told_by_its_name_and_logged_once(journal, caplog):
    def fails(db):
        raise OSError

    journal.write([fails])
    assert journal.trouble[0].startswith("Storage: the record can't be written (OSError).")
    assert caplog.text.count("can't be written") == 1
    journal.flush()
    assert caplog.text.count("can't be written") == 1
    journal._waiting.clear()
    assert journal.flush()
    assert journal.trouble == []


def test_what_could_not_be_written_before_the_end_is_counted_in_the_log(path, caplog):
    def shut():
        raise sqlite3.OperationalError("read-only")

    journal = Journal(shut)
    journal.write([adding("one")])
    journal.write([adding("two")])
    journal.close()
    assert "2 entries are lost" in caplog.text


def test_a_file_that_is_open_is_read_by_the_same_connection(journal):
    journal.write([adding("one")])
    with journal.readable() as db:
        assert db is journal.database()
    assert names(journal) == ["one"], "it stays open"


def test_every_sixth_try_takes_a_new_connection(journal):
    op = Locked()
    journal.write([op])
    opened = []
    for _ in range(12):
        journal.flush()
        opened.append(journal.opened)
    assert opened == [1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 3, 3]
    assert op.tries == 13
    op.lets_go = True


def test_a_file_that_cannot_be_opened_is_tried_again_at_each_write(path):
    answers = [sqlite3.OperationalError("unable to open"), PermissionError(13, "Permission denied"), None]

    def opener():
        answer = answers.pop(0)
        if answer is not None:
            raise answer
        return create_database(path)

    journal = Journal(opener)
    assert not journal.write([adding("one")])
    assert "unable to open" in journal.trouble[0]
    assert not journal.write([adding("two")])
    assert "Permission denied" in journal.trouble[0]
    assert journal.flush()
    assert names(journal) == ["one", "two"]
    journal.close()
    assert journal.database() is None


def test_more_than_one_transaction_of_batches_is_caught_up_in_order(path):
    doors = [True]

    def opener():
        if doors:
            raise sqlite3.OperationalError("locked")
        return create_database(path)

    journal = Journal(opener)
    for number in range(1203):
        journal.write([adding(f"{number}")])
    assert journal.waiting == 1203
    doors.clear()
    assert journal.flush()
    assert names(journal) == [f"{number}" for number in range(1203)]
    journal.close()


@pytest.mark.parametrize(("most", "left"), [(3, ["alert", "3", "4"]), (6, ["alert", "0", "1", "2", "3", "4"])])
def test_where_memory_runs_out_the_oldest_readings_go_and_nothing_else(path, most, left):
    doors = [True]

    def opener():
        if doors:
            raise sqlite3.OperationalError("locked")
        return create_database(path)

    journal = Journal(opener, most_waiting=most)
    journal.write([adding("alert")])
    for number in range(5):
        journal.write([adding(f"{number}")], readings_only=True)
    assert (journal.waiting, journal.dropped) == (most, 6 - most)
    lost = [f"Storage: {6 - most} readings were lost, as memory ran out while they waited."]
    assert journal.trouble[1:] == (lost if most < 6 else [])
    doors.clear()
    journal.flush()
    assert names(journal) == left
    journal.close()


def test_alerts_and_requests_are_never_dropped(path):
    def shut():
        raise sqlite3.OperationalError("locked")

    journal = Journal(shut, most_waiting=2)
    for number in range(5):
        journal.write([adding(f"{number}")])
    assert (journal.waiting, journal.dropped) == (5, 0)
    assert MOST_WAITING * 5 == 24 * 3600  # a day of readings, one every 5 s


def test_it_can_be_read_where_it_cannot_be_written(path):
    def shut():
        raise sqlite3.OperationalError("read-only")

    journal = Journal(shut, lambda: create_database(path))
    with journal.readable() as db:
        assert db is not None
        assert db.execute("SELECT count(*) FROM kiln").fetchone()[0] == 0
    with Journal(shut).readable() as db:
        assert db is None


@pytest.fixture
def disk(tmp_path):
    """Return a folder with a disk of its own, and a function that makes it ``"ro"`` or ``"rw"``."""
    folder = tmp_path / "disk"
    folder.mkdir()

    def mount(*options):
        return subprocess.run(["mount", *options, str(folder)], capture_output=True, check=False).returncode == 0
    if not mount("-t", "tmpfs", "-o", "size=4m", "none"):
        pytest.skip("only root may make a disk read-only, and not in every container")
    yield folder, lambda how: mount("-o", f"remount,{how}")
    subprocess.run(["umount", "--lazy", str(folder)], check=True)


def open_handles(folder):
    links = (f"/proc/self/fd/{number}" for number in os.listdir("/proc/self/fd"))
    return sum(os.readlink(link).startswith(str(folder)) for link in links if os.path.lexists(link))


def test_a_start_on_a_read_only_disk_recovers_and_leaks_no_handle(disk, path):
    folder, remount = disk
    before = create_database(path)  # the record as a power cut leaves it, with two files beside it
    before.execute("INSERT INTO kiln (name) VALUES ('first')")
    before.commit()
    for file in path.parent.glob("lehrling.db*"):
        shutil.copy(file, folder)
    before.close()
    remount("ro")
    journal, handles = Journal(lambda: create_database(folder / path.name, busy_s=0.1)), []
    for n in range(30):
        journal.write([adding(f"k{n}")])
        handles.append(open_handles(folder))
    assert "readonly" in journal.trouble[0]
    assert journal.waiting == 30
    assert max(handles[6:]) == handles[6]  # every sixth try takes a new connection
    remount("rw")
    for n in range(30, 37):
        journal.write([adding(f"k{n}")])
    assert journal.waiting == 0
    assert set(names(journal)) == {"first", *(f"k{n}" for n in range(37))}
    journal.close()
