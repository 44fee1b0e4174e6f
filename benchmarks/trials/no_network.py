"""Take the network away while alerts rise, from the real delivery process: whether all messages come after, in order.

    python -m benchmarks.trials no-network [--short]

``lehrling deliver`` is given a channel at a port of loopback where nobody listens. Wakes are recorded as the daemon
records them, and the process is killed and started again once meanwhile. Then a web hook listens at that port. Every
message must arrive after that, none twice, in the order of writing. The network is away for ten minutes from the
first try on, or for 1.6 s with ``--short``. After a long time away up to two minutes pass until the next try. Six
hours are passed by an injected clock in ``tests/daemon/delivery/test_when_to_send.py``.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from time import perf_counter, sleep

from benchmarks.kill_delivery import write
from benchmarks.trials.hook import Hook, free_port
from daemon.clock import SystemClock
from daemon.delivery.when_to_send import LONGEST_WAIT_S
from daemon.store import kilns, outbox
from daemon.store.database import FILE_NAME, create_database
from daemon.store.firings import open_firing

ROOT = Path(__file__).parents[2]
_RESERVE_S = 30.0
"""What a try takes, and what the wait before it may be longer by chance [s]."""


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder; return its figures, with ``problems`` among them."""
    clock, port, log = SystemClock(), free_port(), (scratch / "log").open("ab")
    (scratch / "hook.url").touch(mode=0o600)
    (scratch / "hook.url").write_text(f"json://127.0.0.1:{port}/")
    (scratch / "lehrling.toml").write_text('[[channel]]\nname = "hook"\nurl_file = "hook.url"\n')
    db = create_database(scratch / FILE_NAME)
    kiln = kilns.kiln_id(db, "bench")
    firing_id = open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title="Invented",
                            opened_by="maker", started_utc=clock.utc(), boot_id="bench", clock_s=0.0)

    def start() -> subprocess.Popen[bytes]:
        return subprocess.Popen([sys.executable, "-m", "daemon.cli", "deliver", "--data", scratch, "--run", scratch],
                                cwd=ROOT, stdout=log, stderr=log)

    def tries() -> int:
        return int(db.execute("SELECT coalesce(sum(tries), 0) FROM delivery").fetchone()[0])

    away_s, every_s = (1.6, 0.1) if short else (600.0, 10.0)
    deliver, began, tried_first, count, restarted = start(), perf_counter(), 0.0, 0, False
    while (now := perf_counter()) - began < away_s + _RESERVE_S and (not tried_first or now - tried_first < away_s):
        count += 1
        write(db, firing_id, count, clock)
        sleep(every_s)
        if not tried_first and tries():
            tried_first = perf_counter()
        if not restarted and tried_first and perf_counter() - tried_first > away_s / 2:
            restarted = True
            deliver.kill()
            deliver.wait()
            deliver = start()
    tried = tries()
    hook, back = Hook(port), perf_counter()
    while outbox.unsent(db) and perf_counter() - back < LONGEST_WAIT_S + _RESERVE_S:
        sleep(0.05)
    took_s = perf_counter() - back
    deliver.terminate()
    deliver.wait(timeout=30)
    hook.close()
    db.close()
    log.close()
    problems = [] if tried else ["nothing was tried while the network was away"]
    if hook.taken != list(range(1, count + 1)):
        problems.append(f"{count} messages written, arrived: {hook.taken}")
    return {"away_s": away_s, "written": count, "tries_meanwhile": tried, "arrived": len(hook.taken),
            "all_there_after_s": round(took_s, 1), "problems": problems}
