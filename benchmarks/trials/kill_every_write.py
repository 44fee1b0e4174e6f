"""Kill the daemon, and cut its power, at every single write of a session: is what was acknowledged still there.

    python -m benchmarks.trials kill-every-write [--short]

One session (``session.py``) runs under ``strace``, which notes every write. From that record the data folder is made
as it stood between any two writes: as a kill leaves it, with the next write broken off in its middle, and as a power
cut may leave it, each sector that was not flushed there by chance. In each of these states the record is opened as
the next daemon does. It must be no damaged record, hold every check of SQLite, and hold every note, reading and alert
that had been acknowledged by then: the note by its commit, reading and alert by the state file. That the record of
writes is complete is seen at the end, where the folder made from it must be the one that is there; and that a real
kill does the same is tried some times.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from time import sleep

from benchmarks.trials import session
from benchmarks.trials.writes import Disk, Write, read_log, recorded
from daemon.store.database import FILE_NAME, create_database
from daemon.store.safety.damage import replace_if_damaged

ROOT = Path(__file__).parents[2]
_RECORD = f"{session.DATA}/{FILE_NAME}"
_STATE = f"{session.RUN}/present.json"
_UTC = datetime(2026, 11, 29, tzinfo=UTC)
_REBUILT = "-shm"
"""Ends the name of the file that SQLite makes anew after a kill, and writes by mapping it into memory."""


class _Acknowledged:
    """What somebody outside was told by now."""

    def __init__(self) -> None:
        self.notes = 0
        self.firing_id: int | None = None
        self.t_s = 0
        self.alerts: set[int] = set()
        self.begun_anew = 0
        """How often the record was still empty, so that the next daemon says it begins a new one."""

    def see(self, write: Write, disk: Disk) -> None:
        """Take notice of one write that has happened."""
        if write.name == session.ACKNOWLEDGED and write.data:
            self.notes += write.data.count(b"\n")
        elif write.to == _STATE:
            said = json.loads(disk.after_kill()[_STATE])
            if said["firing_id"] is not None and not said["trouble"]:
                self.firing_id, self.t_s = said["firing_id"], said["t_s"]
                self.alerts |= {alert["no"] for alert in said["alerts"]}

    def missing(self, path: Path) -> list[str]:
        """Return what of it is not in the record; and everything else that is wrong with the record."""
        is_begun = self.firing_id is not None or self.notes > 0
        damage = replace_if_damaged(path, _UTC)
        if damage and not is_begun:
            self.begun_anew += 1
        db = create_database(path)
        try:
            found = damage if is_begun else []
            found += [str(row) for row in db.execute("PRAGMA integrity_check") if row[0] != "ok"]
            found += [str(row) for row in db.execute("PRAGMA foreign_key_check")]
            notes = db.execute("SELECT count(*) FROM note").fetchone()[0]
            if notes < self.notes:
                found.append(f"{self.notes} notes acknowledged, {notes} found")
            if self.firing_id is not None:
                own = [self.firing_id]
                times = {row[0] for row in db.execute("SELECT t_s FROM reading WHERE firing_id = ?", own)}
                numbers = {row[0] for row in db.execute("SELECT no FROM alert WHERE firing_id = ?", own)}
                lost = set(range(0, self.t_s + 1, 5)) - times
                found += [f"{len(lost)} readings lost, the first at {min(lost)} s"] if lost else []
                found += [f"alert {no} lost" for no in sorted(self.alerts - numbers)]
        finally:
            db.close()
        return found


class Trial:
    """All states of one recorded session."""

    def __init__(self, scratch: Path, every: int) -> None:
        self._scratch, self._every = scratch, every
        self._chance = random.Random(29)
        self.problems: list[str] = []
        self.points = self.states = 0
        self.told = _Acknowledged()

    def go_through(self, writes: Iterator[Write]) -> Disk:
        """Look at the states before each write to the record and after the last; return the last disk."""
        disk, told = Disk(), self.told
        for write in writes:
            if write.name.startswith(_RECORD) and not write.name.endswith(_REBUILT):
                if self.points % self._every == 0:
                    self._look(f"before write {self.points}", disk, write, told)
                self.points += 1
            disk.do(write)
            told.see(write, disk)
        self._look("at the end", disk, Write("flush", _RECORD), told)
        return disk

    def _look(self, when: str, disk: Disk, following: Write, told: _Acknowledged) -> None:
        """Open the record as it is after a kill, a kill within the following write, and two power cuts."""
        states = [("killed", disk.after_kill()), ("killed in the middle", disk.after_half(following)),
                  ("power cut", disk.after_power_cut(self._chance)),
                  ("another power cut", disk.after_power_cut(self._chance))]
        for how, files in states:
            with tempfile.TemporaryDirectory(dir=self._scratch) as name:
                for file, content in files.items():
                    if file.startswith(_RECORD) and not file.endswith(_REBUILT):
                        (Path(name) / Path(file).name).write_bytes(content)
                try:
                    found = told.missing(Path(name) / FILE_NAME)
                except sqlite3.Error as err:
                    found = [f"it can't be opened: {err}"]
            self.states += 1
            self.problems += [f"{how} {when}: {what}" for what in found]


def _differences(disk: Disk, folder: Path) -> list[str]:
    """Return the files of the folder that are not as the record of writes says."""
    made = {name: content for name, content in disk.after_kill().items() if not name.endswith(_REBUILT)}
    there = {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*")
             if path.is_file() and not path.name.endswith(_REBUILT)}
    given = {"trace.csv", f"{session.DATA}/lehrling.toml"}
    return [f"{name} is not as the record of writes says" for name in sorted((made.keys() | there.keys()) - given)
            if made.get(name) != there.get(name)]


def _real_kill(scratch: Path, after_s: float) -> list[str]:
    """Kill a recorded session for good, and compare what is left with what the record of its writes says."""
    folder, log = scratch / "killed", scratch / "killed.log"
    session.prepare(folder)
    process = subprocess.Popen([sys.executable, "-c", _OWN_GROUP, str(folder), str(log)], cwd=ROOT)
    try:
        while session.present(folder) is None and process.poll() is None:
            sleep(0.05)
        sleep(after_s)
    finally:
        for child in _session_of(process.pid):
            os.kill(child, signal.SIGKILL)
        process.wait(timeout=60)
    disk = Disk()
    for write in read_log(log, folder):
        disk.do(write)
    return [f"after a real kill {found}" for found in _differences(disk, folder)]


_OWN_GROUP = """
import sys
from pathlib import Path
from benchmarks.trials import kill_every_write
kill_every_write.record(Path(sys.argv[1]), Path(sys.argv[2]), 100_000, 400)
"""


def _session_of(pid: int) -> list[int]:
    """Return the processes below the tracer of ``pid``; the tracer ends by itself when they are gone."""
    def children(of: int) -> list[int]:
        listed = Path(f"/proc/{of}/task/{of}/children").read_text().split()
        return [int(child) for child in listed]
    return [below for tracer in children(pid) for traced in children(tracer) for below in (traced, *children(traced))]


def record(folder: Path, log: Path, seconds: float, speed: float) -> int:
    """Run a session in ``folder``, which is prepared, with its writes in ``log``; return its exit code."""
    return recorded([sys.executable, "-m", "benchmarks.trials.session", folder, "--seconds", str(seconds),
                     "--speed", str(speed)], log, ROOT)


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder; return its figures, with ``problems`` among them."""
    trial = Trial(scratch, every=29 if short else 1)
    folder, log = scratch / "session", scratch / "writes.log"
    session.prepare(folder)
    code = record(folder, log, *((150, 200) if short else (11_500, 400)))
    if code:
        trial.problems.append(f"the session ended with {code}")
    disk = trial.go_through(read_log(log, folder))
    trial.problems += _differences(disk, folder)
    kills = () if short else (0.3, 1.1, 2.7, 4.9)
    for after_s in kills:
        with tempfile.TemporaryDirectory(dir=scratch) as name:
            trial.problems += _real_kill(Path(name), after_s)
    return {"writes": trial.points, "looked_at": trial.states, "real_kills": len(kills), "notes": trial.told.notes,
            "firing_s": trial.told.t_s, "alerts": len(trial.told.alerts), "begun_anew": trial.told.begun_anew,
            "problems": trial.problems}
