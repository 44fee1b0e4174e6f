"""Update a record of the first version with a firing open in it, and go back.

    python -m benchmarks.trials older-record [--short]
    python -m benchmarks.trials.older_record --make FILE.db.gz

The first version that had a daemon is taken from the history of this clone and run as it was, on its simulated kiln,
until an alert of an open firing stands. Then today's daemon takes its record over: it must make a copy first that
holds what was there, row by row, then go on with the same firing and tell the alert no second time. The first version
must refuse the changed record with a sentence; and with the copy in the record's place it must go on with the same
firing.

``--short`` needs no history: it begins with the record kept beside this file, which ``--make`` makes, and stands in
for the first version by its list of migrations.
"""

from __future__ import annotations

import argparse
import gzip
import json
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from time import perf_counter, sleep
from typing import Any

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from benchmarks.trials.leaping_clock import LeapingClock
from daemon.clock import SystemClock
from daemon.errors import BadInput
from daemon.service.assembly import Folders, run_daemon
from daemon.settings.config import read_config
from daemon.store import firing_list
from daemon.store.database import FILE_NAME, create_database, is_current, migrate, open_database
from daemon.store.safety.copies import copies_of
from daemon.store.safety.exchange import put_in_place, set_aside
from daemon.store.schema.migrations import m001_first_house

ROOT = Path(__file__).parents[2]
FIRST = "c3af47cf53d561749e855cb866660c8717cf797d"
"""The commit with which ``lehrling daemon`` came, on 25 November 2026."""
KEPT = Path(__file__).with_name("first_record.db.gz")
_SPEED = 100
_PATIENCE_S = 120.0
_WATCHED_S = 600.0
"""So long today's daemon watches on [s of the firing clock]."""
_HOT = 'title = "Full fuse"\nunit = "C"\n\n[[step]]\nrate = 600\nto = 700\nhold_min = 10\n'
_ASK = '''
import sys
from datetime import UTC, datetime
from pathlib import Path
from daemon.store import plans, requests
from daemon.store.database import open_database
PLAN = 'title = "Low slump"\\nunit = "C"\\n\\n[[step]]\\nrate = 300\\nto = 100\\nhold_min = 60\\n'
db, now = open_database(Path(sys.argv[1])), datetime.now(UTC)
requests.put(db, "start", {"title": "Bowl", "plan_id": plans.add_plan(db, PLAN, now)}, now, 600)
'''


class FirstVersion:
    """The first version as it was, from the history of this clone."""

    def __init__(self, folder: Path) -> None:
        self._tree = folder / "tree"
        self._tree.mkdir()
        (folder / "hot.toml").write_text(_HOT)
        packed = subprocess.run(["git", "archive", FIRST], cwd=ROOT, check=True, stdout=subprocess.PIPE).stdout
        subprocess.run(["tar", "-x", "-C", self._tree], input=packed, check=True)

    def start(self, data: Path) -> subprocess.Popen[str]:
        """Start its daemon on a simulated kiln that goes far beyond the plan."""
        return subprocess.Popen(
            [sys.executable, "-m", "daemon.cli", "daemon", "--data", data, "--run", data / "run", "--bench",
             "--bench-plan", self._tree.parent / "hot.toml", "--speed", str(_SPEED)],
            cwd=self._tree, stderr=subprocess.PIPE, text=True)

    def make(self, data: Path) -> None:
        """Leave a record with an open firing whose alert stands."""
        daemon = self.start(data)
        try:
            _until(lambda: _present(data), daemon)
            subprocess.run([sys.executable, "-c", _ASK, data / FILE_NAME], cwd=self._tree, check=True)
            _until(lambda: _present(data).get("alerts"), daemon)
        finally:
            daemon.send_signal(signal.SIGTERM)
            daemon.communicate(timeout=60)


def _until(true: Callable[[], object], daemon: subprocess.Popen[str]) -> None:
    """Wait until something is so, at most two minutes and while the daemon runs."""
    ends = perf_counter() + _PATIENCE_S
    while not true():
        if daemon.poll() is not None or perf_counter() > ends:
            raise RuntimeError("the first version did not do what it does")
        sleep(0.1)


def _present(data: Path) -> dict[str, Any]:
    try:
        said: dict[str, Any] = json.loads((data / "run" / "present.json").read_text())
    except (OSError, ValueError):
        return {}
    return said


def _rows(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every table of a record."""
    db = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
    tables = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    rows = {table: sorted(db.execute(f'SELECT * FROM "{table}"').fetchall(), key=repr) for table in tables}
    db.close()
    return rows


def take_over(data: Path) -> tuple[dict[str, object], list[str]]:
    """Let today's daemon go on with the record of the first version; return figures and problems."""
    path = data / FILE_NAME
    before = _rows(path)
    (row,) = [dict(zip(("firing_id", "boot_id", "clock_s"), found, strict=True)) for found in sqlite3.connect(
        path).execute("SELECT firing_id, start_boot_id, start_clock_s FROM firing WHERE ended_s IS NULL")]
    last_s, last_c = max((t_s, temp / 128) for _, t_s, temp, *_ in before["reading"])
    now_s = row["clock_s"] + last_s + 20.0
    rows = "".join(f"{t},{last_c + t % 35 / 50:.2f},\n" for t in range(0, 3600, 5))
    (data / "trace.csv").write_text("seconds,celsius,fault\n" + rows)
    (data / "lehrling.toml").write_text(
        f'[probe]\nkind = "recorded"\ntrace = "{data / "trace.csv"}"\nepoch_s = {now_s - 60}\n')
    clock = LeapingClock(SystemClock().utc() + timedelta(seconds=last_s), now_s, row["boot_id"])
    run_daemon(read_config(data / "lehrling.toml"), Folders(data, data / "run"), 1.0,
               lambda: clock.now_s() >= now_s + _WATCHED_S, clock=clock)
    problems = []
    copies = copies_of(path)
    if len(copies) != 1 or _rows(copies[0].path) != before:
        problems.append("the copy made before is not what the first version left")
    after = _rows(path)
    if not set(before["reading"]) <= set(after["reading"]):
        problems.append("a reading is lost or changed")
    db = open_database(path)
    (listed,) = firing_list.matching(db, 10)
    gone_on_s = max(found[1] for found in after["reading"]) - last_s
    same = listed.firing.firing_id == row["firing_id"] and listed.firing.ended_s is None
    if not same or gone_on_s < _WATCHED_S - 60:
        problems.append("the open firing did not go on")
    if not is_current(db) or db.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
        problems.append("the record is not as today's program makes it")
    told = [found[0] for found in db.execute("SELECT kind FROM alert").fetchall()]
    if told.count("over-temperature") != 1:
        problems.append(f"the alert that stood: {told}")
    db.close()
    return {"readings_before": len(before["reading"]), "gone_on_s": gone_on_s, "alerts": told}, problems


def _refuses(path: Path, source: str) -> bool:
    """Return whether a program that knows the first migration only refuses the record in a sentence."""
    first = Migrations("lehrling")
    first()(m001_first_house)
    db = Database(sqlite3.connect(path))
    try:
        migrate(db, source, first)
    except BadInput as err:
        return "was written by a newer Lehrling" in err.text
    finally:
        db.close()
    return False


def _put_back(path: Path) -> None:
    """Set the record aside and put its copy in its place, as an update that goes back does."""
    (copy,) = copies_of(path)
    set_aside(path, SystemClock().utc(), "newer")
    put_in_place(copy.path, path)


def _back(first: FirstVersion, data: Path) -> list[str]:
    """Try the first version on the changed record, and on the copy; return what is wrong."""
    said = first.start(data).communicate(timeout=_PATIENCE_S)[1]
    problems = [] if "was written by a newer Lehrling" in said else [f"the first version did not refuse: {said}"]
    before = _present(data)
    _put_back(data / FILE_NAME)
    (data / "run" / "present.json").unlink()
    daemon = first.start(data)
    try:
        _until(lambda: _present(data).get("firing_id"), daemon)
        if _present(data)["firing_id"] != before["firing_id"]:
            problems.append("the first version goes on with another firing")
    finally:
        daemon.send_signal(signal.SIGTERM)
        daemon.communicate(timeout=60)
    return problems


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder; return its figures, with ``problems`` among them."""
    data = scratch / "data"
    data.mkdir()
    if short:
        (data / FILE_NAME).write_bytes(gzip.decompress(KEPT.read_bytes()))
        figures, problems = take_over(data)
        if not _refuses(data / FILE_NAME, str(data)):
            problems.append("an older program does not refuse the changed record")
        _put_back(data / FILE_NAME)
        if _refuses(data / FILE_NAME, str(data)):
            problems.append("an older program refuses its own copy")
    else:
        first = FirstVersion(scratch)
        first.make(data)
        figures, problems = take_over(data)
        problems += _back(first, data)
    create_database(data / FILE_NAME).close()  # and forward once more
    return {**figures, "problems": problems}


def main() -> int:
    """Make the record that ``--short`` begins with."""
    parser = argparse.ArgumentParser(description="make a record of the first version, with a firing open")
    parser.add_argument("--make", metavar="FILE.db.gz", type=Path, required=True)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        (Path(name) / "data").mkdir()
        FirstVersion(Path(name)).make(Path(name) / "data")
        args.make.write_bytes(gzip.compress((Path(name) / "data" / FILE_NAME).read_bytes(), mtime=0))
    return 0


if __name__ == "__main__":
    sys.exit(main())
