"""The record: bytes a reading, a commit, a long trace, a long list: ``python -m benchmarks.bench_store``."""

from __future__ import annotations

import json
import random
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter

from sqlite_utils import Database

from daemon.clock import SystemClock
from daemon.firing.events import Sample
from daemon.store import firing_list, firings, kilns, readings
from daemon.store.database import create_database

LONG_S = 48 * 3600
FIRINGS = 5000
DAY = 17_280


def _open(db: Database, clock: SystemClock) -> int:
    kiln = kilns.kiln_id(db, "Kiln")
    return firings.open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title="Invented",
                               opened_by="maker", started_utc=clock.utc(), boot_id="bench", clock_s=0.0)


def _kiln_like(count: int) -> list[Sample]:
    chance = random.Random(1)
    found = []
    for i in range(count):
        temp_c = readings.quantise(20 + 780 * min(i, count - i) / count * 2 + chance.gauss(0, 0.5))
        below, above = (readings.quantise(abs(chance.gauss(0.6, 0.3))) for _ in range(2))
        found.append(Sample(5.0 * i, temp_c, None, temp_c - below, temp_c + above))
    return found


def _size(db: Database) -> int:
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return int(db.execute("PRAGMA page_count").fetchone()[0] * db.execute("PRAGMA page_size").fetchone()[0])


def _ms(work: Callable[[], object]) -> float:
    took = []
    for _ in range(5):
        began = perf_counter()
        work()
        took.append(perf_counter() - began)
    return round(median(took) * 1000, 1)


def measure(folder: Path) -> dict[str, float]:
    """Return the figures."""
    db, clock = create_database(folder / "lehrling.db"), SystemClock()
    firing_id = _open(db, clock)
    before, commits = _size(db), []
    for sample in _kiln_like(DAY):
        began = perf_counter()
        readings.append(db, firing_id, [sample])
        commits.append((perf_counter() - began) * 1000)
    bytes_a_reading = (_size(db) - before) / DAY
    firings.end_firing(db, firing_id, DAY * 5, clock.utc(), "maker")
    long_id = _open(db, clock)
    readings.append(db, long_id, _kiln_like(LONG_S // 5))
    firings.end_firing(db, long_id, LONG_S, clock.utc(), "maker")
    for _ in range(FIRINGS):
        short = _open(db, clock)
        readings.append(db, short, _kiln_like(20))
        firings.end_firing(db, short, 100, clock.utc(), "maker")
    figures = {
        "bytes_a_reading": round(bytes_a_reading, 1), "commit_ms_median": round(median(commits), 3),
        "commit_ms_p99": round(quantiles(commits, n=100)[98], 3),
        "samples_of_48_h_ms": _ms(lambda: readings.samples(db, long_id)),
        "buckets_of_48_h_ms": _ms(lambda: readings.buckets(db, long_id, 1500)),
        "list_50_of_5000_ms": _ms(lambda: firing_list.matching(db, 50, 2000)),
        "list_all_5000_ms": _ms(lambda: firing_list.matching(db, FIRINGS + 2)),
    }
    db.close()
    return figures


def main() -> int:
    """Print the figures; exit code 0 where a reading takes at most 24 bytes."""
    with tempfile.TemporaryDirectory() as scratch:
        figures = measure(Path(scratch))
    sys.stdout.write(json.dumps(figures, indent=1) + "\n")
    return 0 if figures["bytes_a_reading"] <= 24 else 1


if __name__ == "__main__":
    sys.exit(main())
