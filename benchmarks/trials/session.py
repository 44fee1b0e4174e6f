"""A bounded session of the daemon, and of somebody who writes notes beside it; trials look at the record afterwards.

    python -m benchmarks.trials.session FOLDER --seconds 300 --speed 400

The daemon makes its record, opens the firing that is asked for, judges a slump that cools too fast, and is told to
end. Each note that was committed is then written to ``acknowledged`` of the folder; what the daemon holds for kept is
in its state file.
"""

from __future__ import annotations

import argparse
import json
import signal
import subprocess
import sys
from pathlib import Path
from time import sleep
from typing import Any

from benchmarks.kill_loop import PLAN, write_slump
from daemon.clock import SystemClock
from daemon.store import notes, plans, requests
from daemon.store.database import FILE_NAME, NoDatabase, is_current, open_database

ACKNOWLEDGED = "acknowledged"
DATA, RUN = "data", "run"
_LEAST_NOTES = 5
_LONGEST_S = 600.0
"""A session that lasts longer than this has hung [s]."""


def prepare(folder: Path) -> None:
    """Write the trace and the settings into a new folder."""
    (folder / DATA).mkdir(parents=True)
    write_slump(folder / "trace.csv")
    (folder / DATA / "lehrling.toml").write_text(
        f'[probe]\nkind = "recorded"\ntrace = "{folder / "trace.csv"}"\nepoch_s = 0\n')


def present(folder: Path) -> dict[str, Any] | None:
    """Return what the daemon last said; None where it has said nothing yet."""
    try:
        said: dict[str, Any] = json.loads((folder / RUN / "present.json").read_text())
    except (OSError, ValueError):
        return None
    return said


def run(folder: Path, seconds: float, speed: float) -> int:
    """Let the daemon watch so many seconds of its firing; return its exit code."""
    path, clock = folder / DATA / FILE_NAME, SystemClock()
    daemon = subprocess.Popen([sys.executable, "-m", "daemon.cli", "daemon", "--data", folder / DATA,
                               "--run", folder / RUN, "--speed", str(speed)], stderr=subprocess.DEVNULL)
    ends_s, asked, count = clock.now_s() + _LONGEST_S, False, 0
    while daemon.poll() is None and clock.now_s() < ends_s:
        sleep(0.05)
        said = present(folder)
        if said is None:
            continue
        if not asked:
            asked = _ask_for_a_start(path, clock)
        elif said["firing_id"] is not None and said["t_s"] >= seconds and count >= _LEAST_NOTES:
            break
        elif said["firing_id"] is not None:
            db = open_database(path)
            notes.add_note(db, said["firing_id"], f"note {count}", clock.utc())
            db.close()
            count += 1
            with (folder / ACKNOWLEDGED).open("a") as list_of_notes:
                list_of_notes.write("note\n")
    daemon.send_signal(signal.SIGTERM)
    return daemon.wait(timeout=60)


def _ask_for_a_start(path: Path, clock: SystemClock) -> bool:
    """Ask for a firing by PLAN; False where the daemon has not made its tables yet."""
    try:
        db = open_database(path)
    except NoDatabase:
        return False
    try:
        if not is_current(db):
            return False
        requests.put(db, "start", {"title": "Bowl", "plan_id": plans.add_plan(db, PLAN, clock.utc())},
                     clock.utc(), 60)
    finally:
        db.close()
    return True


def main() -> int:
    """Run one session in a folder that ``prepare`` made."""
    parser = argparse.ArgumentParser(description="a bounded session of the daemon")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seconds", type=float, default=300.0)
    parser.add_argument("--speed", type=float, default=400.0)
    args = parser.parse_args()
    return run(args.folder, args.seconds, args.speed)


if __name__ == "__main__":
    sys.exit(main())
