"""Kill the daemon at random moments, start it again, and look whether anything that was kept is lost.

    python -m benchmarks.kill_loop --kills 1000 [--minutes 70] [--seed 1] [--keep DIR]

A daemon on a recorded probe watches a slump that cools too fast, again and again, sped up, with notes and
requests written beside it as the page writes them. It is killed (SIGKILL) at a random moment between its
first instruction and some seconds of life. In three lives of four those seconds count from its first
answer, and are more where that took long, so that on a slow machine too most kills hit a daemon that
writes; the lives that stored a reading are counted. A firing is ended when it is a day old, and another
begun. After every kill the file is opened and held against
all that was seen in it, and all that was acknowledged to the writers, before. With ``--minutes`` it ends
when they are over, and so it does at Ctrl-C; it says how many kills that were. Exit code 0 where nothing was lost.
"""

from __future__ import annotations

import argparse
import json
import random
import signal
import sqlite3
import subprocess
import sys
import tempfile
from datetime import datetime
from pathlib import Path
from time import perf_counter, sleep
from typing import Any

from sqlite_utils import Database

from daemon.clock import SystemClock
from daemon.firing.events import AlertChanged, Sample
from daemon.firing.setup import Reads
from daemon.firing.trace.csv_trace import write_trace
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.resume import entries
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import alerts, firing_list, notes, plans, requests
from daemon.store.chain.verify import verify
from daemon.store.database import create_database, open_database
from daemon.store.firings import Firing

SPEED = 400.0
ANSWER_S = 60.0
"""How long the first answer of a daemon is waited for [s]."""
LONGEST_S = 24 * 3600.0
"""A firing so old is ended [s of its own clock]."""
MOST_SLOW = 3.0
"""Where the first answer took longer than a second, a life lasts longer in proportion, at most so many times."""
PLAN = """title = "Slump"
unit = "C"

[[step]]
rate = 300
to = 640
hold_min = 10

[[step]]
rate = "free"
to = 516
hold_min = 30
purpose = "anneal"

[[step]]
rate = 55
to = 370

[[step]]
rate = 300
to = 40
"""
_PARTS = ((7428, 300.0), (600, 0.0), (744, -600.0), (1800, 0.0), (3000, -190.0), (4280, -300.0))
"""The kiln's own firing: seconds and °C/h; its first cooling is over three times as fast as planned."""


def write_slump(path: Path) -> None:
    """Write the trace that the daemon reads for ever."""
    chance, temp_c, samples = random.Random(7), 21.0, []
    for length_s, rate in _PARTS:
        for _ in range(0, length_s, 5):
            samples.append(Sample(5.0 * len(samples), round(temp_c + chance.gauss(0, 0.3), 3)))
            temp_c += rate / 720
    path.write_text("".join(write_trace(samples)), encoding="utf-8")


def judged_again(db: Database, row: Firing) -> tuple[int, list[str]]:
    """Judge a firing's stored entries once more; return its stored steps of alerts, and how the two differ."""
    judge = Judge(known_setup(db, row, Reads("C")))
    found = [(e.alert.no, e.t_s, e.change) for entry in entries(db, row.firing_id)
             for e in judge.take(entry) if isinstance(e, AlertChanged)]
    stored = [(t.no, t.t_s, t.change) for t in alerts.transitions(db, row.firing_id)]
    return len(stored), [] if found == stored else [
        f"firing {row.firing_id}: {len(found)} steps replayed, {len(stored)} stored"]


class Loop:
    """One folder, one writer beside the daemon, and everything that must never be lost."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder, self.path = folder, folder / "data" / "lehrling.db"
        self.chance, self.clock = random.Random(seed), SystemClock()
        self.seen: dict[tuple[int, int], tuple[object, ...]] = {}
        self.steps: set[tuple[object, ...]] = set()
        self.noted: list[str] = []
        self.promised: set[tuple[int, int]] = set()
        self.problems: list[str] = []
        self.lives = self.wrote = 0
        self.returns_s: list[float] = []
        (folder / "data").mkdir()
        write_slump(folder / "trace.csv")
        (folder / "data" / "lehrling.toml").write_text(
            f'[probe]\nkind = "recorded"\ntrace = "{folder / "trace.csv"}"\nloop = true\nepoch_s = 0\n')
        db = create_database(self.path)
        self.plan_id = plans.add_plan(db, PLAN, self.clock.utc())
        db.close()
        self.log = (folder / "daemon.log").open("ab")

    def life(self) -> None:
        """Start the daemon, write beside it, kill it at a random moment, look at the file."""
        began = perf_counter()
        daemon = subprocess.Popen(
            [sys.executable, "-m", "daemon.cli", "daemon", "--data", self.folder / "data",
             "--run", self.folder / "run", "--speed", str(SPEED)], stdout=self.log, stderr=self.log)
        try:
            life_s, counts_from_answer = self.chance.uniform(0.0, 2.0) ** 1.5, self.chance.random() < 0.75
            if counts_from_answer:
                self._await_answer(daemon, began)
                life_s *= min(MOST_SLOW, max(1.0, perf_counter() - began))
            self._write_beside(daemon, began, perf_counter() + life_s)
        finally:
            died_early = daemon.poll()
            daemon.send_signal(signal.SIGKILL)
            daemon.wait()
        if died_early is not None:
            self.problems.append(f"the daemon ended by itself with {died_early}")
        known = len(self.seen)
        self.look()
        self.lives += 1
        self.wrote += len(self.seen) > known

    def _await_answer(self, daemon: subprocess.Popen[bytes], began: float) -> None:
        """Wait until the daemon of this life has written its state file; at most ANSWER_S."""
        while daemon.poll() is None and self._present(began) is None and perf_counter() - began < ANSWER_S:
            sleep(0.02)

    def _write_beside(self, daemon: subprocess.Popen[bytes], began: float, until: float) -> None:
        """Write notes and requests as the page does, until the moment of the kill."""
        db = open_database(self.path)
        last_firing = db.execute("SELECT max(firing_id) FROM firing WHERE ended_s IS NULL").fetchone()[0]
        back_s: float | None = None
        while (now := perf_counter()) < until and daemon.poll() is None:
            present = self._present(began)
            if present and present["firing_id"] and not present["trouble"]:
                if present["t_s"] % 5 == 0:
                    self.promised.add((present["firing_id"], present["t_s"]))
                if back_s is None and present["firing_id"] == last_firing:
                    back_s = now - began
            self._one_write(db, present)
            sleep(0.02)
        db.close()
        if back_s is not None:
            self.returns_s.append(back_s)

    def _present(self, began: float) -> dict[str, Any] | None:
        """Return the state file written in this life; None where there is none yet."""
        try:
            path = self.folder / "run" / "present.json"
            present: dict[str, Any] = json.loads(path.read_text())
        except (OSError, ValueError):
            return None
        age_s = (self.clock.utc() - datetime.fromisoformat(str(present["written_utc"]))).total_seconds()
        return present if age_s < perf_counter() - began else None

    def _one_write(self, db: Database, present: dict[str, Any] | None) -> None:
        """Write a note, or ask for a start or an acknowledgement."""
        now = self.clock.utc()
        if present is not None and present["firing_id"] is None:
            requests.put(db, "start", {"title": "Bowl", "plan_id": self.plan_id}, now, 60)
        elif present is not None and present["t_s"] > LONGEST_S:
            requests.put(db, "end", {"firing_id": present["firing_id"]}, now, 60)
        elif present is not None and self.chance.random() < 0.05:
            requests.put(db, "acknowledge", {"firing_id": present["firing_id"]}, now, 60)
        elif present is not None:
            text = f"note {len(self.noted)}"
            notes.add_note(db, present["firing_id"], text, now)
            self.noted.append(text)

    def look(self) -> None:
        """Hold the file against everything seen before."""
        db = open_database(self.path)
        state = db.execute("PRAGMA quick_check").fetchone()[0]
        if state != "ok":
            self.problems.append(f"quick_check: {state}")
        now = {(f, t): tuple(rest) for f, t, *rest in db.execute("SELECT * FROM reading")}
        steps = {tuple(row) for row in db.execute("SELECT * FROM transition")}
        lost = [key for key, row in self.seen.items() if now.get(key) != row]
        lost += [key for key in self.promised if key not in now]
        texts = [row[0] for row in db.execute("SELECT text FROM note ORDER BY note_id")]
        if lost:
            self.problems.append(f"{len(lost)} readings lost, first {min(lost)}")
        if not steps >= self.steps:
            self.problems.append("a step of an alert was lost")
        if texts != self.noted:
            self.problems.append(f"{len(self.noted)} notes acknowledged, {len(texts)} found")
        self.problems += [f"firing {one.firing_id} is not as its chain says: {one.faults[:3]}" for one in verify(db)
                          if one.state != "whole"]
        self.seen, self.steps, self.promised = now, steps, set()
        db.close()

    def finish(self) -> dict[str, object]:
        """Judge the stored readings once more, check the whole file and return the figures."""
        db = open_database(self.path)
        states = [row[0] for row in db.execute("PRAGMA integrity_check")]
        states += [str(row) for row in db.execute("PRAGMA foreign_key_check")]
        told = 0
        for listed in firing_list.matching(db, 10_000):
            count, otherwise = judged_again(db, listed.firing)
            told += count
            self.problems += otherwise
        figures = {
            "kills": self.lives, "after_a_stored_reading": self.wrote,
            "firings": len(firing_list.matching(db, 10_000)), "readings": len(self.seen), "gaps": db.execute(
                "SELECT count(*) FROM gap").fetchone()[0], "notes": len(self.noted), "alert_steps": told,
            "integrity": states, "back_after_s_median": _share(self.returns_s, 0.5),
            "back_after_s_worst": _share(self.returns_s, 1.0), "problems": self.problems,
        }
        db.close()
        self.log.close()
        return figures


def _share(values: list[float], share: float) -> float | None:
    """Return the value below which a share of all values lies; None without any."""
    ordered = sorted(values)
    return round(ordered[min(len(ordered) - 1, int(share * len(ordered)))], 2) if ordered else None


def main() -> int:
    """Run the loop and print its figures."""
    parser = argparse.ArgumentParser(description="kill the daemon at random moments; is anything lost?")
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--minutes", type=float, default=float("inf"), help="end after so long in any case")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="work in this new folder and leave it")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        folder = args.keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        loop, began = Loop(folder, args.seed), perf_counter()
        try:
            while loop.lives < args.kills and perf_counter() - began < 60 * args.minutes:
                loop.life()
        except KeyboardInterrupt:
            sys.stderr.write("Ended early.\n")
        except sqlite3.DatabaseError as err:
            loop.problems.append(f"the file can't be read: {err}")
        figures = {"seconds": round(perf_counter() - began, 1), **loop.finish()}
        sys.stdout.write(json.dumps(figures, indent=1) + "\n")
        return 0 if figures["integrity"] == ["ok"] and not figures["problems"] else 1


if __name__ == "__main__":
    sys.exit(main())
