"""How soon a stored alert is tried: ``python -m benchmarks.bench_delivery``.

Starts the delivery process on a database of its own, records alerts as the daemon does, and times from the
moment before the transaction to the arrival at a web hook on loopback; then the process at rest.
"""

from __future__ import annotations

import http.server
import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from time import perf_counter, sleep

from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.notify.alert_messages import Channel, rows_for
from daemon.store import alerts, kilns
from daemon.store.database import FILE_NAME, create_database
from daemon.store.firings import open_firing

ALERTS = 40
AIM_S = 2.0
REST_S = 20.0
RUN = "import sys; from daemon.cli import main; sys.exit(main())"


class Hook(http.server.BaseHTTPRequestHandler):
    """Notes when each message arrives."""

    arrived: list[float]

    def do_POST(self) -> None:
        """Take one message."""
        self.arrived.append(perf_counter())
        self.rfile.read(int(self.headers["Content-Length"]))
        self.send_response(200)
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""


def attempts(folder: Path, arrived: list[float]) -> list[float]:
    """Return how long each recorded alert took to arrive [s]."""
    db = create_database(folder / FILE_NAME)
    kiln = kilns.kiln_id(db, "bench")
    now = datetime.now(UTC)  # noqa: TID251 - a stamp for the record, nothing is timed by it
    firing_id = open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title="Invented",
                            opened_by="maker", started_utc=now, boot_id="bench", clock_s=0.0)
    sleep(2.0)
    channels = [Channel("hook", folder / "hook.url")]
    took = []
    for no in range(1, ALERTS + 1):
        alert = Alert(no=no, kind="not-cooling", rank=Rank.WAKE, since_s=0.0, raised_s=0.0,
                      text=Text("Not cooling.", "Nothing is meant.", "Nothing."), woke_s=0.0)
        change = AlertChanged(0.0, "raised", alert)
        began = perf_counter()
        alerts.record(db, firing_id, change, now, rows_for(change, "Invented", channels))
        while len(arrived) < no:
            sleep(0.001)
        took.append(arrived[-1] - began)
        sleep(0.05 + 0.013 * (no % 17))  # meet every phase of the loop's look
    db.close()
    return took


def at_rest(pid: int) -> tuple[float, float]:
    """Return the process's share of one core [%] and its resident memory [MB]."""
    def ticks() -> int:
        return sum(int(field) for field in Path(f"/proc/{pid}/stat").read_text().rsplit(")")[1].split()[11:13])

    before = ticks()
    sleep(REST_S)
    share = (ticks() - before) / os.sysconf("SC_CLK_TCK") / REST_S * 100
    resident = next(int(line.split()[1]) for line in Path(f"/proc/{pid}/status").read_text().splitlines()
                    if line.startswith("VmRSS"))
    return share, resident / 1024


def main() -> None:
    """Measure and print."""
    Hook.arrived = []
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Hook)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "hook.url").touch(mode=0o600)
        (folder / "hook.url").write_text(f"json://127.0.0.1:{server.server_port}/")
        (folder / "lehrling.toml").write_text('[[channel]]\nname = "hook"\nurl_file = "hook.url"\n')
        process = subprocess.Popen([sys.executable, "-c", RUN, "deliver", "--data", name, "--run", name],
                                   stderr=subprocess.DEVNULL)
        try:
            took = attempts(folder, Hook.arrived)
            share, resident = at_rest(process.pid)
        finally:
            process.send_signal(signal.SIGTERM)
            process.wait(10)
    server.shutdown()
    result = {"median_s": round(median(took), 3), "longest_s": round(max(took), 3), "aim_s": AIM_S,
              "at_rest_percent": round(share, 2), "resident_mb": round(resident)}
    sys.stdout.write(json.dumps(result) + "\n")


if __name__ == "__main__":
    main()
