"""A record put back: checked first, the present one set aside, photographs never overwritten."""

from __future__ import annotations

import io
import os
import shutil
import sqlite3
import zipfile
from datetime import timedelta

import pytest

from daemon.copies import restore
from daemon.copies.bundle import bundle
from daemon.copies.folder import FolderPlace
from daemon.copies.place import NotTaken
from daemon.copies.take import take
from daemon.errors import BadInput
from daemon.store import firings
from daemon.store.database import create_database, open_database
from daemon.store.photographs import add_photograph
from daemon.store.safety.copies import copies_of, make_copy
from tests.daemon.copies.conftest import NIGHT, begun

LATER = NIGHT + timedelta(days=9)


def title(record):
    db = open_database(record)
    try:
        return firings.firing(db, 1).title
    finally:
        db.close()


def rename(record, name):
    db = open_database(record)
    db.execute("UPDATE firing SET title = ?", [name])
    db.close()


def zipped(copy, pictures):
    return io.BytesIO(b"".join(bundle(copy, pictures)))


def test_a_new_computer_goes_on_from_the_stick(stick, record, copy_of, pictures, tmp_path):
    for night in range(3):
        take(stick, copy_of(night), pictures)
    new = tmp_path / "new" / "lehrling.db"
    new.parent.mkdir()
    fetched = restore.from_place(stick, new)
    assert (fetched.pictures, fetched.lost) == (2, 0)
    assert restore.exchange(fetched, new, LATER) == ""
    assert title(new) == "Bowl"
    assert [path.name for path in sorted((new.parent / "photographs").iterdir())] == [p.name for p in pictures]
    assert not (new.parent / "restoring").exists()
    # The next copy has a higher number than any on the stick, so that it counts as the newest there.
    copy = make_copy(new, LATER)
    assert copies_of(new)[-1].number > 3
    take(stick, copy, pictures)
    [mark] = stick.marks()
    assert copy.name in stick.stored(mark).copies


def test_the_present_record_is_set_aside_whole(stick, record, copy_of):
    take(stick, copy_of(), [])
    rename(record, "Dish")
    (record.parent / "checkpoint").write_bytes(b"of the other record")
    aside = restore.exchange(restore.from_place(stick, record), record, LATER)
    assert aside == "lehrling-replaced-2026-03-10T042000Z.db"
    assert title(record) == "Bowl"
    assert title(record.parent / aside) == "Dish"
    assert not (record.parent / "checkpoint").exists()


def test_fetching_and_checking_changes_nothing(stick, record, copy_of):
    take(stick, copy_of(), [])
    rename(record, "Dish")
    restore.from_place(stick, record)
    assert title(record) == "Dish"


def test_an_older_copy_is_restored_by_its_name(stick, record, copy_of):
    first = copy_of()
    take(stick, first, [])
    rename(record, "Dish")
    take(stick, copy_of(1), [])
    restore.exchange(restore.from_place(stick, record, name=first.name), record, LATER)
    assert title(record) == "Bowl"
    with pytest.raises(BadInput, match="there is no such copy at the stick KILN"):
        restore.from_place(stick, record, name="lehrling-000009-2026-03-01T042000Z.db")


def test_of_two_records_the_own_one_is_taken_and_a_stranger_has_to_say_which(stick, tmp_path, record, copy_of):
    take(stick, copy_of(), [])
    other = begun(tmp_path / "other", "Small kiln")
    take(stick, make_copy(other, NIGHT), [])
    restore.exchange(restore.from_place(stick, other), other, LATER)
    db = open_database(other)
    assert [row[0] for row in db.execute("SELECT name FROM kiln")] == ["Small kiln"]
    db.close()
    new = tmp_path / "new" / "lehrling.db"
    new.parent.mkdir()
    with pytest.raises(BadInput, match=r"copies of 2 records: small-kiln-\w{8}, studio-kiln-\w{8}\. Say which: --of"):
        restore.from_place(stick, new)
    with pytest.raises(BadInput, match="copies of 2 records"):
        restore.from_place(stick, other, mark="big-kiln-12345678")
    [mark] = [mark for mark in stick.marks() if mark.startswith("studio")]
    assert restore.from_place(stick, new, mark=mark).name


def test_an_empty_place_says_so(there, record):
    with pytest.raises(BadInput, match="the stick KILN: holds no copies"):
        restore.from_place(FolderPlace("the stick KILN", there, lambda: 0.0), record)


def test_a_photograph_that_is_here_stays_as_it_is(stick, record, copy_of, pictures):
    take(stick, copy_of(), pictures)
    pictures[0].write_bytes(b"\xff\xd8another")
    pictures[1].unlink()
    fetched = restore.from_place(stick, record)
    restore.exchange(fetched, record, LATER)
    assert fetched.pictures == 1
    assert pictures[0].read_bytes() == b"\xff\xd8another"
    assert pictures[1].exists()


def test_the_zip_of_the_page_is_restored_with_its_photographs(record, copy_of, pictures, tmp_path):
    file = zipped(copy_of(), pictures)
    assert zipfile.ZipFile(file).testzip() is None
    new = tmp_path / "new" / "lehrling.db"
    new.parent.mkdir()
    fetched = restore.from_file(file, "x.zip", new)
    restore.exchange(fetched, new, LATER)
    assert title(new) == "Bowl"
    assert (new.parent / "photographs" / pictures[0].name).read_bytes() == pictures[0].read_bytes()
    assert fetched.pictures == 2


@pytest.mark.parametrize("at", [0.2, 0.5, 0.9])
def test_a_zip_with_a_flipped_bit_is_refused(record, copy_of, pictures, at):
    damaged = bytearray(zipped(copy_of(), pictures).getvalue())
    damaged[int(len(damaged) * at)] ^= 1
    with pytest.raises(NotTaken, match="zip is damaged"):
        restore.from_file(io.BytesIO(bytes(damaged)), "x.zip", record)
    assert title(record) == "Bowl"


def test_a_zip_that_was_packed_anew_with_something_else_in_it_is_refused(record, copy_of, pictures):
    changed = io.BytesIO()
    with zipfile.ZipFile(zipped(copy_of(), pictures)) as old, zipfile.ZipFile(changed, "w") as new:
        for name in old.namelist():
            new.writestr(name, b"\xff\xd8other" if name.endswith("aa11-whole.jpg") else old.read(name))
    changed.seek(0)
    with pytest.raises(NotTaken, match=r"aa11-whole\.jpg has other bytes than were put in"):
        restore.from_file(changed, "x.zip", record)


def test_another_zip_is_refused_and_leaves_no_file_outside(record, tmp_path):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as other:
        other.writestr("../../lehrling-000001-2026-03-01T042000Z.db", "x")
        other.writestr("digests.json", "{}")
    file.seek(0)
    with pytest.raises(NotTaken, match="holds no copy of a record"):
        restore.from_file(file, "x.zip", record)
    assert not list(tmp_path.glob("*.db"))


def made(path, script):
    db = sqlite3.connect(path)
    db.executescript(script)
    db.close()
    return path.read_bytes()


@pytest.mark.parametrize(("body", "said"), [
    (lambda path: b"", "is no copy of a record"), (lambda path: b"GIF89a", "is no copy of a record"),
    (lambda path: made(path, "CREATE TABLE firing (x)"), "no record of Lehrling’s"),
    (lambda path: b"SQLite format 3\0" + b"\xff" * 5000, "is damaged|no record of Lehrling")])
def test_what_is_not_ours_is_refused_in_a_sentence(record, tmp_path, body, said):
    with pytest.raises(NotTaken, match=said) as caught:
        restore.from_file(io.BytesIO(body(tmp_path / "x.db")), "x.db", record)
    assert caught.value.said.startswith("x.db")
    assert title(record) == "Bowl"


def test_a_damaged_copy_is_refused_and_here_the_one_before_serves(record, copy_of):
    copies = [copy_of(night) for night in range(2)]
    damaged = bytearray(copies[1].read_bytes())
    damaged[5000:9000] = b"\xff" * 4000
    copies[1].write_bytes(damaged)
    with pytest.raises(NotTaken, match="is damaged"), copies[1].open("rb") as file:
        restore.from_file(file, copies[1].name, record)
    assert restore.from_here(record).name == copies[0].name
    with pytest.raises(NotTaken, match="is damaged"):
        restore.from_here(record, copies[1].name)


def test_a_copy_of_a_newer_program_is_refused(record, tmp_path):
    newer = tmp_path / "newer.db"
    db = create_database(newer)
    db.execute("INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('lehrling', 'm_next', 'x')")
    db.close()
    with pytest.raises(NotTaken, match=r"written by a newer Lehrling \(it has m_next") as caught, \
            newer.open("rb") as file:
        restore.from_file(file, "newer.db", record)
    assert caught.value.do.startswith("Update Lehrling first")


def test_lost_photographs_come_back_from_beside_the_record(record, copy_of, pictures):
    copy_of()
    shutil.copytree(record.parent / "photographs", record.parent / "backups/photographs")
    os.unlink(pictures[0])
    fetched = restore.from_here(record)
    restore.exchange(fetched, record, LATER)
    assert fetched.pictures == 1
    assert pictures[0].exists()


def test_without_any_copy_that_is_said(record):
    with pytest.raises(BadInput, match="there is no such copy"):
        restore.from_here(record)


def test_a_photograph_that_the_stick_lacks_is_counted_once(stick, there, record, copy_of, pictures):
    db = open_database(record)
    for mark in ("aa11", "bb22"):
        add_photograph(db, piece_id=None, firing_id=1, moment="after", mark=mark, width=9, height=9, caption="",
                       now_utc=NIGHT)
    db.close()
    thumb = pictures[0].with_name("aa11-thumb.jpg")
    thumb.write_bytes(b"\xff\xd8")
    take(stick, copy_of(), [*pictures, thumb])
    for file in there.rglob("aa11-*.jpg"):
        file.unlink()
    new = record.parent.parent / "new" / "lehrling.db"
    new.parent.mkdir()
    fetched = restore.from_place(stick, new)
    assert (fetched.pictures, fetched.lost) == (1, 1)
    with copies_of(record)[-1].path.open("rb") as alone:
        assert restore.from_file(alone, "x.db", new).lost == 2
    assert restore.from_place(stick, record).lost == 0  # both are here
