"""A copy elsewhere counts once it was read back; then older ones go, and nobody else's files ever."""

from __future__ import annotations

import errno
import json
import shutil
import sqlite3
from datetime import timedelta

import pytest

from daemon.copies import take as taking
from daemon.copies.folder import FolderPlace
from daemon.copies.identity import mark_of
from daemon.copies.place import NotTaken
from daemon.copies.take import digest, open_place, take, take_everywhere
from daemon.settings.elsewhere import Elsewhere
from daemon.store import kilns, photographs
from daemon.store.database import open_database
from daemon.store.safety import elsewhere
from daemon.store.safety.copies import make_copy, name_of
from tests.daemon.copies.conftest import NIGHT, begun

STICK = Elsewhere("usb", "KILN")


def ours(there):
    [folder] = (there / "lehrling-copies").iterdir()
    return folder


def names(folder):
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def test_a_copy_and_its_photographs_lie_there_byte_by_byte(stick, there, copy_of, pictures):
    copy = copy_of()
    take(stick, copy, pictures)
    folder = ours(there)
    assert folder.name.startswith("studio-kiln-")
    assert names(folder) == [copy.name, "photographs/aa11-whole.jpg", "photographs/bb22-whole.jpg"]
    assert digest(folder / copy.name) == digest(copy)
    assert (folder / "photographs/aa11-whole.jpg").read_bytes() == pictures[0].read_bytes()


class Flips(FolderPlace):
    """A stick that keeps another bit than was written to one file."""

    at = ".db"

    def put(self, mark, copy, pictures):
        super().put(mark, copy, pictures)
        for path in self._top.rglob(f"*{self.at}"):
            damaged = bytearray(path.read_bytes())
            damaged[len(damaged) // 2] ^= 1
            path.write_bytes(damaged)


@pytest.mark.parametrize("at", [".db", ".jpg"])
def test_a_bit_that_flipped_after_it_was_written_is_found_and_costs_no_copy(stick, there, copy_of, pictures, at):
    copies = [copy_of(night) for night in range(4)]
    for copy in copies[:3]:
        take(stick, copy, [])
    flips = Flips("the stick KILN", there, lambda: 0.0)
    flips.at = at
    before = {name: digest(ours(there) / name) for name in names(ours(there))}
    with pytest.raises(NotTaken, match=r"does not keep what is written: .* was read back, and other bytes"):
        take(flips, copies[3], pictures)
    left = names(ours(there))
    assert set(before) <= set(left)
    assert not any(name.endswith("aa11-whole.jpg") for name in left) or at == ".db"
    assert copies[3].name not in left or at == ".jpg"


def test_a_copy_that_is_there_already_is_read_back_all_the_same(stick, there, copy_of):
    copy = copy_of()
    take(stick, copy, [])
    damaged = bytearray(copy.read_bytes())
    damaged[-100] ^= 1
    (ours(there) / copy.name).write_bytes(damaged)  # as long as before
    with pytest.raises(NotTaken, match="read back"):
        take(stick, copy, [])
    take(stick, copy, [])
    assert digest(ours(there) / copy.name) == digest(copy)


def test_a_stick_that_goes_half_way_leaves_nothing_that_looks_whole(there, copy_of, pictures, monkeypatch):
    class Goes(FolderPlace):
        def put(self, mark, copy, pictures):
            monkeypatch.setattr("os.fsync", lambda handle: (_ for _ in ()).throw(
                OSError(errno.EIO, "Input/output error")))
            super().put(mark, copy, pictures)

    with pytest.raises(NotTaken, match="The stick KILN went away, or fails"):
        take(Goes("the stick KILN", there, lambda: 0.0), copy_of(), pictures)
    assert names(ours(there)) == []


def test_once_it_is_unmounted_nothing_is_written_to_what_lies_under_it(stick, there, copy_of):
    stick._disk += 1  # the path leads to another file system than it did
    with pytest.raises(NotTaken, match="The stick KILN went away"):
        take(stick, copy_of(), [])
    assert list(there.iterdir()) == []


@pytest.mark.parametrize(("number", "said"), [
    (errno.ENOSPC, "There is no room on the stick KILN"), (errno.EROFS, "takes no writing"),
    (errno.EACCES, "may not write to the stick KILN"), (errno.ENODEV, "went away")])
def test_what_is_wrong_is_said_in_a_sentence_with_what_to_do(stick, there, copy_of, monkeypatch, number, said):
    copies = [copy_of(night) for night in range(2)]
    take(stick, copies[0], [])
    monkeypatch.setattr("daemon.copies.folder.os.replace", lambda *_: (_ for _ in ()).throw(OSError(number, "x")))
    with pytest.raises(NotTaken, match=said) as caught:
        take(stick, copies[1], [])
    assert caught.value.do
    assert names(ours(there)) == [copies[0].name]


def test_a_place_that_takes_an_hour_is_given_up(there, copy_of):
    clock = iter([0.0, *[4000.0] * 50])
    with pytest.raises(NotTaken, match="too slow: it took over 60 min"):
        take(FolderPlace("the stick KILN", there, lambda: next(clock)), copy_of(), [])
    assert names(ours(there)) == []


def test_somebody_elses_files_are_left_alone(stick, there, copy_of, pictures):
    for name in ("holiday.jpg", "lehrling-copies/notes.txt", "lehrling-copies/studio-kiln-00000000/lehrling-old.db"):
        (there / name).parent.mkdir(parents=True, exist_ok=True)
        (there / name).write_text("mine")
    for night in range(5):
        take(stick, copy_of(night), pictures)
    for name in ("holiday.jpg", "lehrling-copies/notes.txt", "lehrling-copies/studio-kiln-00000000/lehrling-old.db"):
        assert (there / name).read_text() == "mine"


def test_they_are_thinned_out_by_day_week_and_month_as_at_home(stick, there, record, copy_of):
    for night in range(0, 40, 3):
        take(stick, copy_of(night), [])
    at_home = [path.name for path in (record.parent / "backups").glob("*.db")]
    assert names(ours(there)) == sorted(at_home)
    assert len(at_home) < 10


def test_copies_taken_again_and_again_on_one_day_crowd_out_no_earlier_night_there(stick, record, copy_of):
    for night in range(3):
        take(stick, copy_of(night), [])
    for hours in (3, 4, 5):
        take(stick, make_copy(record, NIGHT + timedelta(days=2, hours=hours)), [])
    [mark] = stick.marks()
    assert sorted(name[16:26] for name in stick.stored(mark).copies) == ["2026-03-01", "2026-03-02", "2026-03-03"]


def test_a_photograph_goes_when_it_was_removed_for_good_and_stays_when_only_its_file_is_lost(
        stick, there, record, copy_of, pictures):
    lost, removed = pictures
    db = open_database(record)
    for picture in pictures:
        photographs.add_photograph(db, piece_id=None, firing_id=1, moment="after", mark=picture.name.split("-")[0],
                                   width=9, height=9, caption="", now_utc=NIGHT)
    take(stick, copy_of(), pictures)
    lost.unlink()
    removed.unlink()
    db.execute("DELETE FROM photograph WHERE mark = ?", [removed.name.split("-")[0]])
    db.close()
    take(stick, copy_of(1), [])
    assert [path.name for path in (ours(there) / "photographs").iterdir()] == [lost.name]


def test_the_copy_that_was_just_taken_is_never_the_one_that_is_dropped(stick, there, record, copy_of):
    newest = copy_of()  # number 1, on a computer that began to count anew
    for number in range(50, 60):
        (stick._top / mark_of(newest)).mkdir(parents=True, exist_ok=True)
        shutil.copy(newest, stick._top / mark_of(newest) / name_of(number, NIGHT + timedelta(days=number - 50)))
    take(stick, newest, [])
    assert newest.name in names(ours(there))


def test_two_records_on_one_stick_never_touch_each_other(stick, there, tmp_path, copy_of):
    other = begun(tmp_path / "other", "Studio kiln")
    for night in range(6):
        take(stick, copy_of(night), [])
        take(stick, make_copy(other, NIGHT + timedelta(days=night)), [])
    folders = list((there / "lehrling-copies").iterdir())
    assert len(folders) == 2
    assert [len(list(folder.glob("*.db"))) for folder in folders] == [4, 4]  # three nights, and a week's last


def test_a_kiln_that_was_renamed_goes_on_in_its_own_folder(stick, there, record, copy_of):
    take(stick, copy_of(), [])
    db = open_database(record)
    kilns.rename(db, "Studio kiln", "Big kiln")
    db.close()
    copy = copy_of(1)
    take(stick, copy, [])
    assert copy.name in names(ours(there))
    assert mark_of(copy).startswith("big-kiln-")


def test_of_a_file_that_is_no_record_there_is_no_mark(tmp_path):
    sqlite3.connect(tmp_path / "x.db").execute("CREATE TABLE a (b)").connection.close()
    with pytest.raises(sqlite3.DatabaseError):
        mark_of(tmp_path / "x.db")


def test_what_came_of_each_place_is_kept_and_a_failure_forgets_no_copy(record, stick, copy_of):
    first = copy_of()
    take_everywhere(record, [STICK], lambda: 0.0, lambda *_: stick)
    copy_of(1)

    def is_out(*_):
        raise NotTaken("The stick KILN is not in.", "Put it in.")

    take_everywhere(record, [STICK], lambda: 0.0, is_out, only_due=True)
    found = elsewhere.known(record.parent)["usb:KILN"]
    assert (found.copy, found.trouble, found.remedy) == (first.name, "The stick KILN is not in.", "Put it in.")
    assert found.made == NIGHT


def test_only_what_the_night_left_over_is_due(record, stick, copy_of):
    copy_of()
    opened = []

    def opener(place, *_):
        opened.append(place.spelt)
        return stick

    for _ in range(3):
        take_everywhere(record, [STICK], lambda: 0.0, opener, only_due=True)
    assert opened == ["usb:KILN"]
    copy_of(1)
    take_everywhere(record, [STICK], lambda: 0.0, opener, only_due=True)
    assert len(opened) == 2


def test_a_copy_that_the_own_disk_damaged_is_passed_over_and_no_place_is_blamed(record, stick, there, copy_of):
    good, bad = copy_of(), copy_of(1)
    damaged = bytearray(bad.read_bytes())
    damaged[5000:9000] = b"\xff" * 4000
    bad.write_bytes(damaged)
    [done] = take_everywhere(record, [STICK], lambda: 0.0, lambda *_: stick).values()
    assert (done.copy, done.trouble) == (good.name, "")
    assert bad.name not in names(ours(there))


def test_one_place_that_fails_keeps_no_other_from_its_copy(record, stick, copy_of, monkeypatch):
    copy_of()
    monkeypatch.setattr(taking, "take", lambda place, *_: (_ for _ in ()).throw(
        OSError(errno.EIO, "bad")) if place is None else None)
    done = take_everywhere(record, [STICK, Elsewhere("folder", "/nas")], lambda: 0.0,
                           lambda place, *_: None if place == STICK else stick)
    assert done["usb:KILN"].trouble.startswith("The copy to the stick KILN failed")
    assert done["/nas"].trouble == ""


def test_a_folder_on_the_records_own_disk_is_no_place(record, there):
    with pytest.raises(NotTaken, match="lies on the same disk as the record"):
        open_place(Elsewhere("folder", str(there)), record.parent, lambda: 0.0)


def test_a_folder_that_is_not_there_is_not_made(record, tmp_path, copy_of):
    place = open_place(Elsewhere("folder", str(tmp_path / "gone")), record.parent, lambda: 0.0)
    with pytest.raises(NotTaken, match="went away"):
        take(place, copy_of(), [])
    assert not (tmp_path / "gone").exists()


@pytest.mark.parametrize("text", ["", "[]", '{"usb:KILN": 3}', '{"usb:KILN": {"called": 3}}',
                                  '{"usb:KILN": {"called": "x", "made_utc": "soon"}}'])
def test_a_file_that_makes_no_sense_says_nothing(tmp_path, text):
    (tmp_path / elsewhere.FILE_NAME).write_text(text)
    assert elsewhere.known(tmp_path) == {}


def test_the_newest_is_of_a_place_that_is_still_set(tmp_path):
    for spelt, made in (("usb:A", "2026-03-01T04:20:00.000Z"), ("usb:B", "2026-03-03T04:20:00.000Z")):
        elsewhere.keep(tmp_path, spelt, elsewhere.Known(f"the stick {spelt}", "x.db", made))
    assert elsewhere.newest(tmp_path, ["usb:A", "usb:B"]).made_utc.startswith("2026-03-03")
    assert elsewhere.newest(tmp_path, ["usb:A"]).called == "the stick usb:A"
    assert elsewhere.newest(tmp_path, []) is None
    assert set(json.loads((tmp_path / elsewhere.FILE_NAME).read_text())) == {"usb:A", "usb:B"}


@pytest.mark.parametrize(("called", "where"), [("the stick KILN", "on the stick KILN"),
                                               ("the folder /nas", "in the folder /nas")])
def test_a_copy_is_on_a_stick_and_in_a_folder(called, where):
    assert elsewhere.Known(called).where == where


@pytest.mark.parametrize(("hours", "words"), [(1, "today"), (30, "yesterday"), (75, "3 days ago"),
                                              (-1, "at a time that the clock has not reached")])
def test_an_age_is_told_in_days(hours, words):
    assert elsewhere.age_words(NIGHT, NIGHT + timedelta(hours=hours)) == words
