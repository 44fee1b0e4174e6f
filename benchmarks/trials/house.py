"""The three services at work on a recorded kiln that climbs past its plan's top, with a web hook as the only channel.

The house takes the part of systemd: it hears each service's signs of life, and starts it again when asked.
"""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Callable
from pathlib import Path
from time import perf_counter, sleep
from typing import Any

from benchmarks.trials.hook import Hook, free_port
from benchmarks.trials.signs import Signs
from daemon.clock import SystemClock
from daemon.firing.events import Sample
from daemon.firing.trace.csv_trace import write_trace
from daemon.store import plans, requests
from daemon.store.database import FILE_NAME, create_database, open_database

ROOT = Path(__file__).parents[2]
SERVICES = ("daemon", "web", "deliver")
SPEED = 200.0
PATIENCE_S = 180.0
"""What is waited for comes within this, or is a problem [s]; a crowded machine takes a minute to start a service."""
PLAN = 'title = "Low slump"\nunit = "C"\n\n[[step]]\nrate = 300\nto = 100\nhold_min = 60\n'


def watchdog_s() -> float:
    """Return after how long a silence systemd ends a service [s]; the longest of the three units."""
    silences_s = []
    for name in SERVICES:
        unit = ROOT / "systemd" / f"lehrling-{name}.service"
        found = re.search(r"^WatchdogSec=(\d+)$", unit.read_text(encoding="utf-8"), re.MULTILINE)
        if found is None:
            raise ValueError(f"{unit.name} has no WatchdogSec")
        silences_s.append(float(found[1]))
    return max(silences_s)


class House:
    """A folder with the three processes at work on it.

    Parameters
    ----------
    folder
        An empty one.
    dog_s
        What each process is told of its watchdog: after how long a silence it is ended [s].
    """

    def __init__(self, folder: Path, dog_s: float) -> None:
        self.folder, self.hook, self.port, self._dog_s = folder, Hook(), free_port(), dog_s
        self.problems: list[str] = []
        climb = [Sample(5.0 * i, round(min(90 + 5 * i / 12, 160.0), 3)) for i in range(20_000)]  # 300 °C/h
        (folder / "trace.csv").write_text("".join(write_trace(climb)), encoding="utf-8")
        (folder / "hook.url").touch(mode=0o600)
        (folder / "hook.url").write_text(self.hook.address)
        (folder / "lehrling.toml").write_text(
            f'[probe]\nkind = "recorded"\ntrace = "{folder / "trace.csv"}"\nepoch_s = 0\n'
            '[[channel]]\nname = "hook"\nurl_file = "hook.url"\n')
        db, now = create_database(folder / FILE_NAME), SystemClock().utc()
        requests.put(db, "start", {"title": "Bowl", "plan_id": plans.add_plan(db, PLAN, now)}, now, 600)
        db.close()
        self.signs = {name: Signs(folder / f"notify-{name}") for name in SERVICES}
        self.log = (folder / "log").open("ab")
        self.processes: dict[str, subprocess.Popen[bytes]] = {}
        for name in ("web", "deliver"):
            self.start(name)

    def start(self, name: str) -> None:
        """Start a service; one that runs is ended first, as by its watchdog."""
        if name in self.processes:
            self.processes[name].kill()
            self.processes[name].wait()
        environment = {"PATH": "/usr/bin:/bin", "NOTIFY_SOCKET": str(self.signs[name].path),
                       "WATCHDOG_USEC": str(round(1e6 * self._dog_s))}
        more = {"daemon": ("--speed", str(SPEED)), "web": ("--open", "--port", str(self.port)), "deliver": ()}
        self.processes[name] = subprocess.Popen(
            [sys.executable, "-m", "daemon.cli", name, "--data", self.folder, "--run", self.folder, *more[name]],
            cwd=ROOT, env=environment, stdout=self.log, stderr=self.log)

    def tell(self, number: signal.Signals, *names: str) -> None:
        """Send services a signal; those that it holds still have stopped on return."""
        for name in names:
            self.processes[name].send_signal(number)
        if number is signal.SIGSTOP:
            self.until(lambda: all(self._is_still(name) for name in names), "they stand still")

    def _is_still(self, name: str) -> bool:
        """Return whether a service is held still, and each sign of life it gave before is counted."""
        stat = Path(f"/proc/{self.processes[name].pid}/stat").read_text(encoding="ascii")
        return stat.rsplit(")", 1)[1].split()[0] == "T" and self.signs[name].are_counted

    def close(self) -> None:
        """End everything that was started."""
        for process in self.processes.values():
            process.kill()
            process.wait()
        self.hook.close()
        for signs in self.signs.values():
            signs.close()
        self.log.close()

    def present(self) -> dict[str, Any]:
        """Return what the daemon last said; nothing where it has not spoken."""
        try:
            said: dict[str, Any] = json.loads((self.folder / "present.json").read_text())
        except (OSError, ValueError):
            return {"firing_id": None, "alerts": [], "t_s": None}
        return said

    def stored_s(self) -> int:
        """Return the second of the newest reading in the record."""
        db = open_database(self.folder / FILE_NAME, readonly=True)
        newest = db.execute("SELECT max(t_s) FROM reading").fetchone()[0]
        db.close()
        return int(newest or 0)

    def page(self, within_s: float = 10.0) -> dict[str, Any] | None:
        """Return what the page shows; None where it does not answer within so many seconds."""
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/now.json", timeout=within_s) as answer:
                shown: dict[str, Any] = json.load(answer)
        except OSError:
            return None
        return shown

    def until(self, true: Callable[[], object], what: str) -> None:
        """Wait until something is so; where it is not within PATIENCE_S, that is a problem."""
        ends = perf_counter() + PATIENCE_S
        while not true():
            if perf_counter() > ends:
                self.problems.append(f"not within {PATIENCE_S:.0f} s: {what}")
                return
            sleep(0.05)

    def claim(self, holds: object, what: str) -> None:
        """Note what does not hold."""
        if not holds:
            self.problems.append(f"not so: {what}")
