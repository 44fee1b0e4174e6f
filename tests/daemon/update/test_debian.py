"""What an update does with files, record and owner; that the package tools obey is tried by packaging/deb/try."""

import json
import os
import shutil
import sqlite3
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest

from daemon.commands import update as command
from daemon.errors import BadInput
from daemon.service.state_reader import FILE_NAME as STATE_NAME
from daemon.store.database import create_database
from daemon.store.safety.copies import make_copy
from daemon.store.stamps import stamp
from daemon.update.debian import Debian, as_owner

needs_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root can become somebody else")
needs_dpkg = pytest.mark.skipif(shutil.which("dpkg-deb") is None, reason="there is no dpkg here")
SOMEBODY = 12345


@pytest.fixture
def system(tmp_path):
    return Debian(tmp_path, tmp_path)


@needs_root
def test_what_is_done_with_the_record_is_done_as_its_owner(tmp_path, monkeypatch):
    os.chown(tmp_path, SOMEBODY, SOMEBODY)
    monkeypatch.chdir(tmp_path)  # the folders above are closed to everybody but root

    def work():
        Path("made").write_text("x")
        return f"{os.geteuid()} {os.getegid()} {os.getgroups()}"

    assert as_owner(tmp_path, work) == f"{SOMEBODY} {SOMEBODY} []"
    assert (tmp_path / "made").stat().st_uid == SOMEBODY
    assert os.geteuid() == 0


def test_a_failure_of_that_work_is_told_in_its_own_words(tmp_path):
    def work():
        raise sqlite3.DatabaseError("the copy is damaged")

    with pytest.raises(BadInput, match="the copy is damaged"):
        as_owner(tmp_path, work)


def test_a_record_with_a_step_of_a_newer_version_is_known_as_such(system, tmp_path):
    record = tmp_path / "lehrling.db"
    assert not system.record_is_newer()  # there is none
    create_database(record).close()
    assert not system.record_is_newer()
    db = sqlite3.connect(record)
    db.execute("INSERT INTO _sqlite_migrations SELECT max(id) + 1, migration_set, '999-of-tomorrow', applied_at"
               " FROM _sqlite_migrations")
    db.commit()
    db.close()
    assert system.record_is_newer()


def test_the_copy_serves_again_and_the_newer_record_is_set_aside_whole(system, tmp_path, monkeypatch):
    record = tmp_path / "lehrling.db"
    create_database(record).close()
    copy = make_copy(record, datetime(2026, 11, 29, tzinfo=UTC))
    record.write_bytes(b"changed by the newer version")
    record.with_name("lehrling.db-wal").write_bytes(b"waits")
    monkeypatch.setattr("daemon.update.debian._call", lambda *words, **_: "")  # stops the services
    aside = system.put_back(copy)
    assert aside.read_bytes() == b"changed by the newer version"
    assert aside.with_name(aside.name + "-wal").read_bytes() == b"waits"
    assert record.read_bytes() == copy.read_bytes()
    assert not record.with_name("lehrling.db-wal").exists()


def test_the_records_of_further_kilns_are_copied_and_put_back_too(tmp_path, monkeypatch):
    first, second = tmp_path / "lehrling", tmp_path / "lehrling-casting"
    (tmp_path / "run-casting").mkdir()
    (tmp_path / "run-casting" / STATE_NAME).write_text(json.dumps(
        {"written_utc": stamp(datetime.now(UTC)), "temp_c": 516.0, "trouble": []}))
    for folder in (first, second):
        folder.mkdir()
        create_database(folder / "lehrling.db").close()
    called = []
    monkeypatch.setattr("daemon.update.debian._call", lambda *words, **_: called.append(words) or "")
    system = Debian(first, tmp_path / "run")
    assert [kiln.temp_c for kiln in system.further_kilns()] == [516.0]
    copy = system.copy_record()
    assert not system.record_is_newer()
    db = sqlite3.connect(second / "lehrling.db")
    db.execute("INSERT INTO _sqlite_migrations SELECT max(id) + 1, migration_set, '999-of-tomorrow', applied_at"
               " FROM _sqlite_migrations")
    db.commit()
    db.close()
    assert system.record_is_newer()
    system.put_back(copy)
    assert not system.record_is_newer()
    assert "lehrling-*@*.service" in called[0]


@needs_dpkg
def test_half_a_package_is_refused(system, tmp_path):
    folder = tmp_path / "package"
    (folder / "DEBIAN").mkdir(parents=True)
    folder.chmod(0o755)
    (folder / "DEBIAN").chmod(0o755)
    (folder / "DEBIAN" / "control").write_text(
        "Package: paint\nVersion: 1\nArchitecture: all\nMaintainer: x <x@localhost>\nDescription: x\n")
    (folder / "much").write_bytes(os.urandom(300_000))
    whole = tmp_path / "whole.deb"
    subprocess.run(["dpkg-deb", "--build", str(folder), str(whole)], check=True, capture_output=True, timeout=60)
    assert system.package(whole).name == "paint"
    half = tmp_path / "half.deb"
    half.write_bytes(whole.read_bytes()[:200_000])
    with pytest.raises(BadInput, match="no whole package"):
        system.package(half)


def test_a_daemon_without_a_probe_does_not_watch(system, tmp_path):
    said = {"written_utc": stamp(datetime.now(UTC)), "temp_c": None, "trouble": []}
    (tmp_path / STATE_NAME).write_text(json.dumps(said))
    assert system.kiln() is not None
    (tmp_path / STATE_NAME).write_text(json.dumps(said | {"trouble": [{"ailing": "probe", "text": "none"}]}))
    assert system.kiln() is None


def test_a_folder_is_told_from_a_missing_file(system, tmp_path):
    with pytest.raises(BadInput, match=r"is a folder\. Name the package in it"):
        system.package(tmp_path)


def test_a_missing_file_is_one_sentence(system, tmp_path):
    with pytest.raises(BadInput, match="no such file"):
        system.package(tmp_path / "none.deb")


def test_without_root_it_says_what_to_type(monkeypatch):
    from daemon.cli import main
    monkeypatch.setattr(command.os, "geteuid", lambda: 1000)
    assert main(["update", "new.deb"]) == 2
