from __future__ import annotations

import random
import sqlite3
import sys
from pathlib import Path

import pytest

from benchmarks.trials.writes import SECTOR, Disk, Write, read_log, recorded, why_not

needs_strace = pytest.mark.skipif(bool(why_not()), reason=why_not())
COMMITS = """
import sqlite3, sys
db = sqlite3.connect(sys.argv[1])
db.execute("PRAGMA journal_mode = WAL")
db.execute(f"PRAGMA synchronous = {sys.argv[2]}")
db.execute("CREATE TABLE told (n INTEGER)")
for n in range(8):
    db.execute("INSERT INTO told VALUES (?)", [n])
    db.commit()
    with open(sys.argv[1] + ".told", "a") as told:
        told.write("x")
import os
os._exit(0)
"""


def hexed(text):
    return "".join(f"\\x{byte:02x}" for byte in text.encode())


def disk_after(*writes):
    disk = Disk()
    for write in writes:
        disk.do(write)
    return disk


def test_the_log_gives_what_was_done_to_files_of_the_folder_only(tmp_path):
    at = {name: hexed(f"/data/{name}") for name in ("a", "b", "gone")}
    log = tmp_path / "log"
    log.write_text("\n".join([
        f'7 openat(AT_FDCWD, "{at["a"]}", O_WRONLY|O_CREAT|O_TRUNC|O_CLOEXEC, 0666) = 3<{at["a"]}>',
        f'7 write(3<{at["a"]}>, "{hexed("first")}", 5) = 5',
        f'7 pwrite64(3<{at["a"]}>, "{hexed("FIRST")}", 5, 2) = 3',
        f'8 pwrite64(4<{hexed("/elsewhere/a")}>, "{hexed("x")}", 1, 0) = 1',
        f'8 pwrite64(4<{at["gone"]}>(deleted), "{hexed("x")}", 1, 0) = 1',
        f'7 pwrite64(3<{at["a"]}>, "{hexed("never")}", 5, 0) = -1 ENOSPC ({"No space"})',
        f"8 fdatasync(3<{at['a']}> <unfinished ...>",
        f'7 ftruncate(3<{at["a"]}>, 4) = 0',
        "8 <... fdatasync resumed>) = 0",
        f'7 rename("{at["a"]}", "{at["b"]}") = 0',
        f'7 unlink("{at["b"]}") = 0',
        "7 +++ exited with 0 +++", ""]))
    assert list(read_log(log, Path("/data"))) == [
        Write("make", "a", at=0), Write("write", "a", b"first"), Write("write", "a", b"FIR", 2),
        Write("cut", "a", at=4), Write("flush", "a"), Write("rename", "a", to="b"), Write("remove", "b")]


def test_a_call_that_is_not_followed_is_an_error_and_not_overlooked(tmp_path):
    log = tmp_path / "log"
    log.write_text(f"7 pwritev(3<{hexed('/data/a')}>, [], 1, 0) = 5\n")
    with pytest.raises(ValueError, match="pwritev on a is not followed"):
        list(read_log(log, Path("/data")))


def test_a_kill_leaves_every_write_and_one_broken_off_leaves_half_of_it():
    disk = disk_after(Write("write", "a", b"one"), Write("write", "a", b"two"), Write("cut", "a", at=5))
    assert disk.after_kill() == {"a": b"onetw"}
    assert disk.after_half(Write("write", "a", b"ABCD", 4)) == {"a": b"onetAB"}
    assert disk.after_half(Write("flush", "a")) == {"a": b"onetw"}
    disk.do(Write("rename", "a", to="b"))
    assert disk.after_kill() == {"b": b"onetw"}
    disk.do(Write("remove", "b"))
    assert disk.after_kill() == {}


def test_a_power_cut_leaves_what_was_flushed_and_any_sectors_of_the_rest():
    old, new = b"o" * 3 * SECTOR, b"n" * 2 * SECTOR
    disk = disk_after(Write("write", "a", old), Write("flush", "a"), Write("write", "a", new, SECTOR))
    left = {disk.after_power_cut(random.Random(seed))["a"] for seed in range(40)}
    o, n = b"o" * SECTOR, b"n" * SECTOR
    assert left == {o + second + third for second in (o, n) for third in (o, n)}
    disk.do(Write("flush", "a"))
    assert disk.after_power_cut(random.Random(0)) == {"a": o + n + n}


@needs_strace
@pytest.mark.parametrize(("synchronous", "loses"), [("FULL", False), ("OFF", True)])
def test_a_commit_that_was_not_flushed_is_seen_to_be_lost_in_a_power_cut(tmp_path, synchronous, loses):
    folder, log = tmp_path / "folder", tmp_path / "log"
    folder.mkdir()
    assert recorded([sys.executable, "-c", COMMITS, folder / "told.db", synchronous], log, tmp_path) == 0
    disk, told, lost, chance = Disk(), 0, 0, random.Random(1)
    for write in read_log(log, folder):
        disk.do(write)
        if write.name == "told.db.told" and write.data:
            told += 1
            lost += told > kept(disk.after_power_cut(chance), tmp_path / f"cut-{told}")
            assert told == kept(disk.after_kill(), tmp_path / f"killed-{told}")
    assert told == 8
    assert (lost > 0) is loses


def kept(files, folder):
    """Return how many commits a record holds that lies so on a disk."""
    folder.mkdir()
    for name in ("told.db", "told.db-wal"):
        (folder / name).write_bytes(files.get(name, b""))
    db = sqlite3.connect(folder / "told.db")
    try:
        return db.execute("SELECT count(*) FROM told").fetchone()[0]
    except sqlite3.DatabaseError:
        return 0
    finally:
        db.close()
