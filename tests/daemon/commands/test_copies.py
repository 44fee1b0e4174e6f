"""``lehrling copies`` on the command line."""

from __future__ import annotations

import io
import json
import os
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from daemon.cli import main
from daemon.copies import take
from daemon.copies.alone import alone
from daemon.copies.bundle import bundle
from daemon.service.only_one import only_one
from daemon.store import firings
from daemon.store.database import open_database
from daemon.store.safety import elsewhere
from daemon.store.safety.copies import copies_of, make_copy


@pytest.fixture
def said(record, tmp_path, capsys, monkeypatch):
    """Return a function that calls the command, with a folder for copies that counts as another disk."""
    (tmp_path / "nas").mkdir()
    (tmp_path / "lehrling.toml").write_text(f'[copies]\nelsewhere = ["{tmp_path}/nas"]\n')
    monkeypatch.setattr(take, "on_one_disk", lambda *_: False)
    monkeypatch.setattr(os, "nice", lambda by: by)

    def run(action, *words):
        code = main(["copies", action, *words, "--data", str(tmp_path), "--run", str(tmp_path)])
        told = capsys.readouterr()
        return code, told.out, told.err

    return run


@pytest.fixture
def copy_of(record):
    """Return a function that makes the copy of a night."""
    return lambda night=0: make_copy(record, datetime(2026, 3, 1 + night, 4, 20, tzinfo=UTC))


@pytest.fixture
def pictures(record):
    """Return two photographs beside the record."""
    folder = record.parent / "photographs"
    folder.mkdir()
    for mark in ("aa11", "bb22"):
        (folder / f"{mark}-whole.jpg").write_bytes(b"\xff\xd8" + mark.encode() * 500)
    return sorted(folder.iterdir())


def daemon_says(folder, **said):
    now = datetime.now(UTC).isoformat()
    (folder / "present.json").write_text(json.dumps({"written_utc": now, **said}))


def test_a_copy_is_made_taken_and_listed(said, record, tmp_path):
    code, out, _ = said("make")
    [copy] = copies_of(record)
    assert code == 0
    assert f"the copy checked: {copy.path.name}.\nIt was taken to the folder {tmp_path}/nas, and read back" in out
    assert said("list")[1] == f"here  {copy.path.name}\n{tmp_path}/nas  {copy.path.name}\n"
    assert said("list", f"{tmp_path}/nas")[1].endswith(f"  {copy.path.name}\n")


def test_one_that_fails_is_said_with_what_to_do(said, tmp_path):
    (tmp_path / "nas").rmdir()
    code, out, _ = said("make")
    assert code == 1
    assert "went away, or fails" in out
    assert "went away" in said("list")[1]


def test_each_hour_only_what_is_due_is_taken_and_a_failure_is_no_alarm(said, record, tmp_path):
    assert said("make", "--due")[:2] == (0, "")  # no copy of a night is there yet
    said("make")
    assert said("make", "--due")[:2] == (0, "")
    assert len(copies_of(record)) == 1
    (tmp_path / "nas").rename(tmp_path / "away")
    said("make")
    assert said("make", "--due")[0] == 0
    (tmp_path / "away").rename(tmp_path / "nas")
    assert "It was taken to the folder" in said("make", "--due")[1]
    assert elsewhere.newest(tmp_path, [f"{tmp_path}/nas"]).copy == copies_of(record)[-1].path.name


@pytest.mark.parametrize(("state", "waits"), [
    ({"temp_c": 130.0}, True), ({"temp_c": 90.0, "t_s": 50.0}, False), ({"temp_c": None, "t_s": 50.0}, True),
    ({"temp_c": None}, False), ({"temp_c": 800.0, "written_utc": "2026-01-01T00:00:00Z"}, False)])
def test_nothing_is_taken_each_hour_while_the_kiln_is_hot(said, tmp_path, state, waits):
    (tmp_path / "nas").rename(tmp_path / "away")
    said("make")
    (tmp_path / "away").rename(tmp_path / "nas")
    daemon_says(tmp_path, **state)
    assert (said("make", "--due")[1] == "The kiln is hot. Copies elsewhere are taken when it is cold.\n") == waits
    assert (tmp_path / "nas/lehrling-copies").exists() != waits


def test_without_a_place_it_says_how_to_name_one(said, tmp_path):
    (tmp_path / "lehrling.toml").unlink()
    assert "lehrling settings set copies.elsewhere usb:KILN" in said("make")[1]
    assert said("make", "--due")[:2] == (0, "")


def test_the_record_is_put_back_and_the_present_one_set_aside(said, record, tmp_path):
    said("make")
    db = open_database(record)
    db.execute("UPDATE firing SET title = 'Dish'")
    db.close()
    code, out, _ = said("restore", f"{tmp_path}/nas")
    assert code == 0
    assert "is in order.\nIt is the record now. The one before is set aside as lehrling-replaced-" in out
    db = open_database(record)
    assert firings.firing(db, 1).title == "Bowl"
    db.close()


def test_it_is_refused_while_a_daemon_works_or_the_kiln_is_hot(said, record, tmp_path, monkeypatch):
    said("make")
    before = record.read_bytes()
    monkeypatch.setattr("daemon.copies.put_back.only_one", lambda folder: only_one(folder, wait_s=0.2))
    with only_one(tmp_path):
        code, _, err = said("restore")
    assert (code, "another Lehrling daemon works" in err) == (2, True)
    daemon_says(tmp_path, temp_c=516.0, t_s=900.0)
    code, _, err = said("restore")
    assert (code, "the kiln is at 516 °C, and nobody watches" in err) == (2, True)
    daemon_says(tmp_path, temp_c=20.0, t_s=900.0)
    assert "a firing is open" in said("restore")[2]
    assert record.read_bytes() == before
    assert said("restore", "--while-hot")[0] == 0


@pytest.mark.parametrize(("source", "told"), [
    ("/nowhere.db", "can't be read"), ("usb:NOT-HERE", "The stick NOT-HERE is not in"),
    ("restic:offsite", "There is no"), ("lehrling.toml", "is no copy of a record")])
def test_a_source_that_cannot_be_used_is_refused_in_a_sentence(said, record, tmp_path, monkeypatch, source, told):
    monkeypatch.chdir(tmp_path)
    before = record.read_bytes()
    code, _, err = said("restore", source)
    assert (code, told in err, "Traceback" in err) == (2, True, False)
    assert record.read_bytes() == before


def test_a_zip_that_lacks_photographs_is_taken_only_when_that_is_said(said, record, copy_of, pictures, tmp_path):
    whole = zipfile.ZipFile(io.BytesIO(b"".join(bundle(copy_of(), pictures))))
    with zipfile.ZipFile(tmp_path / "x.zip", "w") as lacking:
        for name in whole.namelist():
            if "aa11" not in name:
                lacking.writestr(name, whole.read(name))
    assert said("restore", f"{tmp_path}/x.zip")[0] == 0  # it is here
    pictures[0].unlink()
    before = record.read_bytes()
    code, _, err = said("restore", f"{tmp_path}/x.zip")
    assert (code, "1 photograph is missing from it" in err, "--without-photographs" in err) == (2, True, True)
    assert record.read_bytes() == before
    assert not (tmp_path / "restoring").exists()
    code, out, _ = said("restore", f"{tmp_path}/x.zip", "--without-photographs")
    assert (code, "Photographs that are missing, and are left out: 1." in out) == (0, True)


@pytest.mark.parametrize(("words", "told"), [
    (("a.db", "--copy", "b.db"), "--copy: a.db is one file"), (("a.db", "--of", "kiln"), "--of: a.db is one file"),
    (("--of", "kiln"), "--of: the copies beside the record are all of this record")])
def test_an_option_that_would_not_be_used_is_refused(said, record, copy_of, tmp_path, monkeypatch, words, told):
    monkeypatch.chdir(tmp_path)
    copy_of().rename(tmp_path / "a.db")
    code, _, err = said("restore", *words)
    assert (code, told in err) == (2, True)


def test_what_is_no_file_is_not_waited_for(said, record, tmp_path, monkeypatch):
    os.mkfifo(tmp_path / "pipe")
    as_ever = Path.open
    monkeypatch.setattr(Path, "open", lambda path, *how, **more: as_ever(path, *how, **more)
                        if path.name != "pipe" else pytest.fail("it would wait for ever"))
    code, _, err = said("restore", f"{tmp_path}/pipe")
    assert (code, "pipe: is no file" in err) == (2, True)


def test_a_folder_without_copies_is_refused_and_nothing_is_left_behind(said, record, tmp_path):
    code, _, err = said("restore", f"{tmp_path}/nas")
    assert (code, "holds no copies" in err, "lehrling-copies lies in" in err) == (2, True, True)
    assert not (tmp_path / "restoring").exists()


def test_of_two_restores_at_once_the_second_is_refused_and_the_first_goes_on(said, record, copy_of, tmp_path):
    copy_of()
    with alone(tmp_path, "lehrling copies restore"):
        (tmp_path / "restoring").mkdir()
        code, _, err = said("restore")
        assert (code, "a copy is being taken or put back just now" in err) == (2, True)
        assert said("make")[0] == 2
        assert (tmp_path / "restoring").exists()
    assert said("restore")[0] == 0
    assert not (tmp_path / "restoring").exists()


def test_a_timer_that_meets_a_restore_waits_for_its_next_turn(said, record, copy_of, tmp_path):
    copy_of()
    with alone(tmp_path, "lehrling copies restore"):
        code, out, err = said("make", "--due")
    assert (code, err) == (0, "")
    assert out == "A copy is being taken or put back just now. What is due is taken the next time.\n"
    assert not list((tmp_path / "nas").iterdir())
    assert said("make", "--due")[0] == 0
    assert list((tmp_path / "nas").iterdir())


def test_a_restore_that_a_daemon_stops_leaves_nothing_behind(said, record, copy_of, tmp_path, monkeypatch):
    copy_of()
    monkeypatch.setattr("daemon.copies.put_back.only_one", lambda folder: only_one(folder, wait_s=0.0))
    with only_one(tmp_path):
        assert said("restore")[0] == 2
    assert not (tmp_path / "restoring").exists()


def test_where_there_is_no_copy_that_is_said(said, record, tmp_path):
    assert said("list")[1].startswith("There is no copy here yet. One is made every night;")
    assert said("list", f"{tmp_path}/nas")[1] == f"The folder {tmp_path}/nas holds no copies.\n"


@pytest.mark.parametrize("kept", [
    lambda whole: b"", lambda whole: whole[:len(whole) // 2], lambda whole: b"x" * len(whole)])
def test_a_copy_that_is_plainly_broken_is_marked(said, record, copy_of, kept):
    broken, whole = copy_of(), copy_of(1)
    broken.write_bytes(kept(broken.read_bytes()))
    assert said("list")[1].splitlines()[:2] == [
        f"here  {broken.name}  broken: it is empty, cut short or no database", f"here  {whole.name}"]
