"""How soon the watch goes on after a restart late in a firing: ``python -m benchmarks.bench_restart``.

A record holds a firing of a day, 17,280 readings. The daemon is started on it twice. The first time it has no
checkpoint and judges every reading again; ended as asked, it leaves a checkpoint, from which it goes on the second
time. Printed is the processor time until the state file tells of the firing, imports included. A computer of a tenth
of this one's speed takes ten times as long; 5 s were promised there.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
from datetime import timedelta
from pathlib import Path
from time import perf_counter, sleep

from benchmarks.bench_day import PLAN, READINGS
from daemon.clock import open_bench_clock
from daemon.firing.plan.plan import parse_plan
from daemon.service.assembly import BENCH_CLOCK
from daemon.store import firings, kilns, plans, readings
from daemon.store.database import create_database
from simulations.firing import simulate

PROMISED_S = 5.0
SLOWER = 10.0
LONGEST_S = 120.0
_DAEMON = "import sys; sys.modules['numpy'] = None; from daemon.cli import main; sys.exit(main())"
"""sqlite-utils imports numpy where it is installed. It is here, for the tests; beside a kiln it isn't."""
SETTINGS = 'kiln = "Kiln"\n\n[probe]\nkind = "recorded"\ntrace = "{trace}"\nloop = true\n'


def _record(folder: Path) -> None:
    """Make a record with a firing of a day that is open, as a killed daemon leaves it."""
    trace = folder / "trace.csv"
    trace.write_text("seconds,celsius,fault\n0,80,\n5,80,\n10,80,\n", encoding="utf-8")
    (folder / "lehrling.toml").write_text(SETTINGS.format(trace=trace), encoding="utf-8")
    clock, plan = open_bench_clock(folder / BENCH_CLOCK, 1.0), parse_plan(PLAN, "day.toml")
    db = create_database(folder / "lehrling.db")
    kiln_id = kilns.kiln_id(db, "Kiln")
    firing_id = firings.open_firing(
        db, kiln_id=kiln_id, probe_id=kilns.probe_id(db, kiln_id, "recorded", "K"), title="Bowl", opened_by="maker",
        started_utc=clock.utc() - timedelta(seconds=5.0 * READINGS), boot_id=clock.boot_id,
        clock_s=clock.now_s() - 5.0 * READINGS, plan_id=plans.add_plan(db, PLAN, clock.utc()), thickness_mm=12.0)
    samples = simulate(plan, until_c=0.0, longest_s=5.0 * (READINGS - 1)).samples
    readings.append(db, firing_id, [s._replace(t_s=5.0 * n) for n, s in enumerate(samples)])
    db.close()


def _start(folder: Path) -> float:
    """Start the daemon, end it once it tells of the firing, and return the processor time until then [s]."""
    present = folder / "run" / "present.json"
    present.unlink(missing_ok=True)
    daemon = subprocess.Popen([sys.executable, "-c", _DAEMON, "daemon", "--data", folder, "--run", folder / "run"],
                              stderr=subprocess.DEVNULL)
    try:
        until = perf_counter() + LONGEST_S
        while not _tells(present):
            if daemon.poll() is not None or perf_counter() > until:
                raise RuntimeError("the daemon did not go on with the firing")
            sleep(0.01)
        fields = Path(f"/proc/{daemon.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    finally:
        daemon.send_signal(signal.SIGTERM)
        daemon.wait(30)


def _tells(present: Path) -> bool:
    """Return whether the state file is there and knows the firing."""
    try:
        return json.loads(present.read_text())["firing_id"] is not None
    except (OSError, ValueError):
        return False


def main() -> int:
    """Print both figures; 0 where the promise holds."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        _record(folder)
        first_s, again_s = _start(folder), _start(folder)
        size = (folder / "checkpoint").stat().st_size
    sys.stdout.write(f"without a checkpoint {first_s:.2f} s, with one {again_s:.2f} s of processor time;"
                     f" the checkpoint has {size / 1000:.0f} kB\n"
                     f"at a tenth of this speed {first_s * SLOWER:.0f} s and {again_s * SLOWER:.1f} s"
                     f" (promised {PROMISED_S:g} s)\n")
    return 0 if again_s * SLOWER <= PROMISED_S else 1


if __name__ == "__main__":
    sys.exit(main())
