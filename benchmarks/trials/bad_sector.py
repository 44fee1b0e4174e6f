"""Spoil one sector of a record after another, and see whether the daemon watches on with each.

    python -m benchmarks.trials bad-sector [--short]

A record with an open firing, and a good copy of it beside it, stands for a card of which one sector has gone bad.
Each sector of 512 bytes is spoilt in turn, with random bytes, and the daemon started on it for two simulated minutes.
It must start, watch, and write its state file; nothing else may end it. Counted is how often it saw the damage at its
start and went on with the copy, how often it said later that it can't write, and how often it did neither. Of those
the weekly check must find each that harms the file; what SQLite's own check passes lies in unused space, or within a
text or a number, which no check of SQLite's knows. ``--short`` takes every 97th sector.
"""

from __future__ import annotations

import gzip
import json
import logging
import random
import shutil
import sqlite3
from datetime import timedelta
from pathlib import Path

from benchmarks.trials.leaping_clock import LeapingClock
from benchmarks.trials.older_record import KEPT
from benchmarks.trials.writes import SECTOR
from daemon.clock import SystemClock
from daemon.errors import BadInput
from daemon.service.assembly import Folders, run_daemon
from daemon.service.maintenance import Housekeeping
from daemon.settings.config import read_config
from daemon.store.database import FILE_NAME, create_database
from daemon.store.safety.copies import make_copy

_WATCHED_S = 120.0
_TEMP_C = 140.0


class _Card:
    """A folder with a record whose firing is open, to be spoilt and mended again and again."""

    def __init__(self, scratch: Path) -> None:
        self.good, self.data = scratch / "good", scratch / "data"
        self.good.mkdir()
        (self.good / FILE_NAME).write_bytes(gzip.decompress(KEPT.read_bytes()))
        db = create_database(self.good / FILE_NAME)
        row = db.execute("SELECT start_boot_id, start_clock_s, max(t_s) FROM firing JOIN reading USING (firing_id)")
        self.boot_id, began_s, self.last_s = row.fetchone()
        self.now_s = began_s + self.last_s + 20.0
        db.close()
        make_copy(self.good / FILE_NAME, SystemClock().utc())
        rows = "".join(f"{t},{_TEMP_C + t % 35 / 50:.2f},\n" for t in range(0, 600, 5))
        (self.good / "trace.csv").write_text("seconds,celsius,fault\n" + rows)
        (self.good / "lehrling.toml").write_text(
            f'[probe]\nkind = "recorded"\ntrace = "{self.good / "trace.csv"}"\nepoch_s = {self.now_s - 60}\n')
        self.sectors = (self.good / FILE_NAME).stat().st_size // SECTOR

    def spoil(self, sector: int) -> None:
        """Lay the good folder out anew, with one sector spoilt."""
        shutil.rmtree(self.data, ignore_errors=True)
        shutil.copytree(self.good, self.data)
        with (self.data / FILE_NAME).open("r+b") as file:
            file.seek(sector * SECTOR)
            file.write(random.Random(sector).randbytes(SECTOR))

    def watch(self) -> str:
        """Let the daemon watch; return what it said of its record."""
        clock = LeapingClock(SystemClock().utc() + timedelta(seconds=self.last_s), self.now_s, self.boot_id)
        run_daemon(read_config(self.data / "lehrling.toml"), Folders(self.data, self.data / "run"), 1.0,
                   lambda: clock.now_s() >= self.now_s + _WATCHED_S, clock=clock)
        said = json.loads((self.data / "run" / "present.json").read_text())
        if abs((said["temp_c"] or 0.0) - _TEMP_C) > 1.0 or said["now_s"] < self.now_s + _WATCHED_S - 10:
            raise ValueError("the kiln is not watched")
        return " ".join(trouble["text"] for trouble in said["trouble"])

    def is_sound(self) -> bool:
        """Return whether the record holds every check of SQLite."""
        try:
            db = sqlite3.connect(f"{(self.data / FILE_NAME).as_uri()}?mode=ro", uri=True)
            return bool(db.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
        except (sqlite3.Error, UnicodeDecodeError):
            return False

    def check_finds_it(self) -> bool:
        """Return whether the weekly check says that the record is damaged."""
        keeper = Housekeeping(self.data / FILE_NAME, SystemClock().utc)
        try:
            keeper.check()
        except (sqlite3.Error, BadInput):
            return True
        return False


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder; return its figures, with ``problems`` among them."""
    logging.disable(logging.CRITICAL)
    try:
        return _run(_Card(scratch), 97 if short else 1)
    finally:
        logging.disable(logging.NOTSET)


def _run(card: _Card, every: int) -> dict[str, object]:
    counts = {"tried": 0, "copy_took_its_place": 0, "said_later": 0, "harmless": 0, "found_by_the_check": 0}
    problems = []
    for sector in range(0, card.sectors, every):
        card.spoil(sector)
        counts["tried"] += 1
        try:
            told = card.watch()
        except Exception as err:
            # Whatever it is, nobody watches then; that is what is tried here.
            problems.append(f"sector {sector}: {type(err).__name__}: {err}")
            continue
        if "damaged or empty" in told:
            counts["copy_took_its_place"] += 1
        elif told:
            counts["said_later"] += 1
        elif card.is_sound():
            counts["harmless"] += 1
        elif card.check_finds_it():
            counts["found_by_the_check"] += 1
        else:
            problems.append(f"sector {sector}: damaged, and nothing says so")
    return {**counts, "problems": problems}
