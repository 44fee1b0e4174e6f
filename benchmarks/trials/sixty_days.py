"""Sixty days of a kiln in minutes: what the record grows by, and whether the daemon holds more and more.

    python -m benchmarks.trials sixty-days [--short]

The daemon itself, as ``lehrling daemon`` starts it, with a clock that leaps to the next second instead of waiting.
A firing of 18 hours is started every third day and a half; it ends by itself once the kiln is cold. Every night at
04:20 the record is copied and checked as the housekeeping does, whose own timer knows no leaping clock. After each
night the open handles, threads and memory of the process are noted, and the size of the record; of the memory six
nights are printed, with what it is made of. ``--short`` is half an hour of one firing, with such a night every five
minutes.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

from benchmarks.trials.leaping_clock import LeapingClock
from benchmarks.trials.memory import held
from daemon.firing.events import Sample
from daemon.firing.trace.csv_trace import write_trace
from daemon.service.assembly import Folders, run_daemon
from daemon.service.maintenance import NIGHT, Housekeeping
from daemon.settings.config import read_config
from daemon.store import firing_list, plans, requests
from daemon.store.database import FILE_NAME, open_database

ROOT = Path(__file__).parents[2]
MOST_GROWTH_MB = 5.0
DAY_S = 86_400
FIRING_EVERY_S = 7 * DAY_S // 2
FIRST_NIGHT_S = NIGHT["hour"] * 3600.0 + NIGHT["minute"] * 60.0
PLAN = """title = "Full fuse, 6 mm"
unit = "C"

[[step]]
rate = 150
to = 800
hold_min = 12

[[step]]
rate = "free"
to = 516
hold_min = 60
purpose = "anneal"

[[step]]
rate = 55
to = 370

[[step]]
rate = 100
to = 40
"""
_PARTS = ((18_720, 150.0), (720, 0.0), (1_704, -600.0), (3_600, 0.0), (9_556, -55.0), (11_880, -100.0), (9_000, -8.0))
"""The kiln's firing: seconds and °C/h; from 20 °C by PLAN to 40 °C, and on to the room."""
_MEMORY = ("resident", "anonymous", "python_blocks", "malloc_used", "malloc_free", "sqlite")
_ASKED_AT_S = 30
"""Second of a firing at which its start is asked for."""


def write_kiln(path: Path, length_s: float) -> None:
    """Write a trace of one firing, and of the days in which the kiln stands cold after it."""
    chance, temp_c, samples = random.Random(3), 20.0, []
    rates = [rate for part_s, rate in _PARTS for _ in range(0, part_s, 5)]
    for at in range(0, int(min(length_s, FIRING_EVERY_S)), 5):
        samples.append(Sample(float(at), round(temp_c + chance.gauss(0, 0.3), 3)))
        temp_c += rates[at // 5] / 720 if at // 5 < len(rates) else 0.0
    path.write_text("".join(write_trace(samples)), encoding="utf-8")


class Days(LeapingClock):
    """Leaps through days, and does on the way what is due.

    It counts as a hundred times as fast as the wall: the state file, the dearest part of a reading, is then written
    every fifty seconds.
    """

    speed = 100.0

    def __init__(self, folder: Path, nights: int, night_every_s: float) -> None:
        super().__init__(datetime(2026, 3, 1, tzinfo=UTC))
        self.path, self._nights, self._night_every_s = folder / "data" / FILE_NAME, nights, night_every_s
        self.looks: list[dict[str, float]] = []
        self._keeper = Housekeeping(self.path, self.utc)
        self._night_s = min(night_every_s, FIRST_NIGHT_S)
        self._firing_s = float(_ASKED_AT_S)

    @property
    def over(self) -> bool:
        """Return whether all nights have passed."""
        return len(self.looks) >= self._nights

    def sleep_until(self, deadline_s: float) -> None:
        """Be there; ask for a firing and keep house where that is due."""
        super().sleep_until(deadline_s)
        if self.now_s() >= self._firing_s:
            self._firing_s += FIRING_EVERY_S + 5
            self._ask_for_a_firing()
        if self.now_s() >= self._night_s:
            self._night_s += self._night_every_s
            self._keeper.night()
            self.looks.append(self._look())

    def _ask_for_a_firing(self) -> None:
        db = open_database(self.path)
        requests.put(db, "start", {"title": "Bowl", "plan_id": plans.add_plan(db, PLAN, self.utc())}, self.utc(), 60)
        db.close()

    def _look(self) -> dict[str, float]:
        """Return what the process holds, and what the record measures."""
        _wait_for_children()
        status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
        return {"handles": _handles_held(), "threads": int(status["Threads"]), **held(),
                "beside_mb": self.path.with_name(FILE_NAME + "-wal").stat().st_size / 1e6,
                "trouble": float(len(self._keeper.trouble))}


def _handles_held() -> int:
    """Return the fewest open handles seen in half a second: other threads open the record for some milliseconds."""
    seen = []
    for _ in range(10):
        seen.append(len(os.listdir("/proc/self/fd")))
        time.sleep(0.05)
    return min(seen)


def _wait_for_children() -> None:
    """Wait until no process of this one runs, a minute at most: while the kiln is learned, its pipes are open."""
    for _ in range(1200):
        if not any(path.read_text() for path in Path("/proc/self/task").glob("*/children")):
            return
        time.sleep(0.05)


def watch(folder: Path, nights: int, night_every_s: float) -> dict[str, object]:
    """Run the daemon for so many nights in this process; return what was seen each night, and of the record."""
    (folder / "data").mkdir()
    write_kiln(folder / "kiln.csv", nights * night_every_s)
    settings = folder / "data" / "lehrling.toml"
    settings.write_text(f'[probe]\nkind = "recorded"\ntrace = "{folder / "kiln.csv"}"\nepoch_s = 0\nloop = true\n')
    clock = Days(folder, nights, night_every_s)
    run_daemon(read_config(settings), Folders(folder / "data", folder / "run"), 1.0, lambda: clock.over, clock=clock)
    db = open_database(clock.path, readonly=True)
    found = firing_list.matching(db, 10_000)
    readings = db.execute("SELECT count(*) FROM reading").fetchone()[0]
    tables = dict(db.execute("SELECT name, sum(pgsize) FROM dbstat GROUP BY name ORDER BY 2 DESC LIMIT 6").fetchall())
    db.close()
    copies = [path.stat().st_size for path in (folder / "data" / "backups").glob("*.db")]
    return {"nights": clock.looks, "grown_to_mb": round(clock.path.stat().st_size / 1e6, 2),
            "firings": len(found), "readings": readings, "largest_tables": tables,
            "ended_by": sorted({str(one.firing.ended_by) for one in found}),
            "copies": len(copies), "copies_mb": round(sum(copies) / 1e6, 1)}


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder, in a process of its own; return its figures, with ``problems``."""
    count, every_s = (6, 300) if short else (60, DAY_S)
    done = subprocess.run([sys.executable, "-m", "benchmarks.trials.sixty_days", scratch, str(count), str(every_s)],
                          cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=True)
    found = json.loads(done.stdout)
    nights = found.pop("nights")
    settled, last = nights[len(nights) // 6], nights[-1]
    problems = [f"{key} grew from {settled[key]:g} to {last[key]:g}" for key in ("handles", "threads")
                if last[key] > settled[key] + (key == "threads")]  # one that the timer keeps after its first work
    if any(night["trouble"] for night in nights):
        problems.append("a night's work failed")
    if found["grown_to_mb"] > MOST_GROWTH_MB:
        problems.append(f"the record grew to {found['grown_to_mb']} MB")
    lasted_s = min(every_s, FIRST_NIGHT_S) + (count - 1) * every_s
    if found["firings"] != 1 + int(lasted_s // (FIRING_EVERY_S + 5)):
        problems.append(f"{found['firings']} firings")
    both = {key: [night[key] for night in (settled, last)] for key in ("handles", "threads")}
    sixths = [nights[(part + 1) * len(nights) // 6 - 1] for part in range(6)]
    memory_mb = {key: [round(night[key], 1) for night in sixths] for key in _MEMORY if key in last}
    return {"simulated_days": round(count * every_s / DAY_S, 2), **both, "memory_mb": memory_mb,
            "most_beside_mb": round(max(night["beside_mb"] for night in nights), 2), **found, "problems": problems}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(watch(Path(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]))))
