"""The daemon at one reading a second: its memory and its share of a core.

    python -m benchmarks.daemon_at_rest [--seconds 60] [--probe bench|recorded]

Starts the daemon on the bench (the real driver on the stand-in chip) or on a recorded trace, at the speed of
a real kiln, with a firing open by a plan, lets it settle for ten seconds and then looks at /proc.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter, sleep

from daemon.clock import SystemClock
from daemon.store import plans, requests
from daemon.store.database import create_database

SETTLE_S = 10.0
MOST_MB = 60.0
MOST_SHARE = 0.01
PLAN = (
    'title = "Slump"\nunit = "C"\n\n[[step]]\nrate = 150\nto = 640\nhold_min = 20\n'
    '\n[[step]]\nrate = 80\nto = 40\n')


def _settings(folder: Path, probe: str) -> str:
    if probe == "bench":
        return '[probe]\nkind = "bench"\nstart_s = 0\n'
    trace = folder / "trace.csv"
    trace.write_text("seconds,celsius,fault\n" + "".join(f"{5 * i},{21 + i / 5:.2f},\n" for i in range(3000)))
    return f'[probe]\nkind = "recorded"\ntrace = "{trace}"\n'


def _cpu_s(pid: int) -> float:
    """Return the processor time a process has used [s]."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _memory_mb(pid: int, key: str) -> float:
    """Return the resident memory of a process [MB]."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith(key):
            return int(line.split()[1]) / 1024
    return 0.0


def measure(probe: str, seconds: float) -> dict[str, object]:
    """Return the figures of one run on an empty record."""
    with tempfile.TemporaryDirectory() as scratch:
        return measure_in(Path(scratch), probe, seconds)


def measure_in(folder: Path, probe: str, seconds: float) -> dict[str, object]:
    """Return the figures of one run in a data folder; its record is made where there is none, and kept on."""
    (folder / "lehrling.toml").write_text(_settings(folder, probe))
    db, now = create_database(folder / "lehrling.db"), SystemClock().utc()
    requests.put(db, "start", {"title": "Bowl", "plan_id": plans.add_plan(db, PLAN, now)}, now, 600)
    db.close()
    daemon = subprocess.Popen([sys.executable, "-m", "daemon.cli", "daemon", "--data", folder,
                               "--run", folder / "run"], stderr=subprocess.DEVNULL)
    try:
        sleep(SETTLE_S)
        cpu_s, began = _cpu_s(daemon.pid), perf_counter()
        sleep(seconds)
        share = (_cpu_s(daemon.pid) - cpu_s) / (perf_counter() - began)
        rss_mb, peak_mb = _memory_mb(daemon.pid, "VmRSS"), _memory_mb(daemon.pid, "VmHWM")
        present = json.loads((folder / "run" / "present.json").read_text())
    finally:
        daemon.send_signal(signal.SIGTERM)
        daemon.wait(timeout=30)
    return {"probe": probe, "seconds": seconds, "resident_mb": round(rss_mb, 1), "peak_mb": round(peak_mb, 1),
            "share_of_a_core": round(share, 4), "firing": present["firing_title"], "t_s": present["t_s"],
            "within": rss_mb <= MOST_MB and share <= MOST_SHARE}


def main() -> int:
    """Print the figures; exit code 0 where they are within the promise."""
    parser = argparse.ArgumentParser(description="the daemon's memory and share of a core at one reading a second")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--probe", choices=("bench", "recorded"), default="bench")
    args = parser.parse_args()
    figures = measure(args.probe, args.seconds)
    sys.stdout.write(json.dumps(figures, indent=1) + "\n")
    return 0 if figures["within"] else 1


if __name__ == "__main__":
    sys.exit(main())
