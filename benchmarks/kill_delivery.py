"""Kill the delivery process at random moments; is a message lost? ``python -m benchmarks.kill_delivery --kills 500``.

Wakes are recorded as the daemon records them while ``lehrling deliver`` is started, killed (SIGKILL) between its
first instruction and a second or two of life, and started again. In three lives of four those seconds count from its
first sign of life to systemd, and are more where that took long, so that on a slow machine too most kills hit one
that sends; the lives in which a message arrived are counted. The other side is a web hook on loopback that is
sometimes slow and sometimes answers 500.

In the end every message must have arrived, first arrivals in the order of writing. A message that arrives twice was
killed between the sending and the mark and carries the same number; they are counted. With ``--minutes`` it ends when
they are over. Exit code 0 where nothing was lost.
"""

from __future__ import annotations

import argparse
import http.server
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import threading
from pathlib import Path
from time import perf_counter, sleep

from sqlite_utils import Database

from benchmarks.trials.signs import Signs
from daemon.clock import SystemClock
from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.notify.alert_messages import Channel, rows_for
from daemon.store import alerts, kilns, outbox
from daemon.store.database import FILE_NAME, create_database
from daemon.store.firings import open_firing

RUN = "import sys; from daemon.cli import main; sys.exit(main())"
CHANNELS = [Channel("hook", Path("hook.url"))]
LIFE_S = 1.6
FIRST_SIGN_S = 60.0
"""How long a first sign of life is waited for [s]."""
LAST_S = 120.0
"""How long the last life may take to send what is left [s]."""


class Hook(http.server.BaseHTTPRequestHandler):
    """Notes the number of every message it takes."""

    taken: list[int]
    chance: random.Random

    def do_POST(self) -> None:
        """Take a message, or slowly, or refuse it."""
        body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))["message"]
        whim = self.chance.random()
        if whim < 0.15:
            sleep(0.2)
        found = re.search(r"^Message (\d+);", body, re.MULTILINE)
        if whim > 0.95 or found is None:
            self.send_response(500)
        else:
            self.taken.append(int(found[1]))
            self.send_response(200)
        try:
            self.end_headers()
        except OSError:
            return  # the one that asked was killed

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""


def write(db: Database, firing_id: int, no: int, clock: SystemClock) -> None:
    """Record a wake with its message, as the daemon does."""
    alert = Alert(no=no, kind="not-cooling", rank=Rank.WAKE, since_s=0.0, raised_s=0.0,
                  text=Text(f"Not cooling, {no}.", "Nothing is meant.", "Nothing."), woke_s=0.0)
    change = AlertChanged(0.0, "raised", alert)
    alerts.record(db, firing_id, change, clock.utc(), rows_for(change, "Invented", CHANNELS))


def lives(folder: Path, kills: int, chance: random.Random, until: float) -> dict[str, int]:
    """Let deliver live and die beside a writer, so many times or until ``perf_counter`` is there; return counts."""
    clock, db, no = SystemClock(), create_database(folder / FILE_NAME), 0
    kiln = kilns.kiln_id(db, "bench")
    firing_id = open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title="Invented",
                            opened_by="maker", started_utc=clock.utc(), boot_id="bench", clock_s=0.0)
    signs, killed, at_work, is_last = Signs(folder / "notify"), 0, 0, False
    while not is_last:
        is_last = killed >= kills or perf_counter() >= until
        known = len(Hook.taken)
        process = subprocess.Popen([sys.executable, "-c", RUN, "deliver", "--data", folder, "--run", folder],
                                   stderr=subprocess.DEVNULL, env={**os.environ, "NOTIFY_SOCKET": str(signs.path)})
        began, life_s = perf_counter(), LAST_S if is_last else chance.uniform(0.0, LIFE_S)
        if is_last or chance.random() < 0.75:
            signs.come(FIRST_SIGN_S)
            life_s *= max(1.0, perf_counter() - began)
        ends = perf_counter() + life_s
        while perf_counter() < ends:
            if not is_last and chance.random() < 0.06:
                no += 1
                write(db, firing_id, no, clock)
            if is_last and not outbox.unsent(db):
                break
            sleep(0.02)
        process.kill()
        process.wait()
        killed += not is_last
        at_work += not is_last and len(Hook.taken) > known
    db.close()
    signs.close()
    return {"kills": killed, "after_a_sent_message": at_work, "written": no}


def main() -> int:
    """Run and print."""
    parser = argparse.ArgumentParser(description="kill the delivery process at random moments; is a message lost?")
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--minutes", type=float, default=float("inf"), help="end after so long in any case")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    Hook.taken, Hook.chance = [], random.Random(args.seed)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Hook)
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    began = perf_counter()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "hook.url").touch(mode=0o600)
        (folder / "hook.url").write_text(f"json://127.0.0.1:{server.server_port}/")
        (folder / "lehrling.toml").write_text('[[channel]]\nname = "hook"\nurl_file = "hook.url"\n')
        counts = lives(folder, args.kills, random.Random(args.seed + 1), began + 60 * args.minutes)
    server.shutdown()
    first = list(dict.fromkeys(Hook.taken))
    figures = {
        **counts, "seconds": round(perf_counter() - began), "lost": counts["written"] - len(first),
        "in_order": first == sorted(first), "twice": len(Hook.taken) - len(first)}
    sys.stdout.write(json.dumps(figures) + "\n")
    return 0 if not figures["lost"] and figures["in_order"] else 1


if __name__ == "__main__":
    sys.exit(main())
