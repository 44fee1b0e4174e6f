"""Hold each process of Lehrling still (SIGSTOP) for a while: whether the others say it, and all is there afterwards.

    python -m benchmarks.trials stopped [--short]

Daemon, page and delivery run on a recorded kiln that climbs past its plan's top, sped up, with a web hook on loopback
as the only channel. The trial takes the part of systemd: it hears the daemon's signs of life, and one that gives none
for as long as the unit's WatchdogSec is killed and started again.

1. Delivery and page stand still while the alert rises. Afterwards the message arrives, once, and the page answers.
2. The daemon stands still, shorter than the watchdog allows. Where that is longer than 15 s, the page says that
   nothing is watched. Afterwards there is no gap, for a bench waits for its daemon.
3. The daemon stands still until the watchdog ends it. Started again, it goes on with the same firing and tells the
   gap.

In the end the stored readings judged once more give the stored alerts, and every message arrived once, in order.
``--short`` takes 1 s for the watchdog's time, and less in the other cases.
"""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Callable
from pathlib import Path
from select import select
from time import perf_counter, sleep
from typing import Any

from benchmarks.kill_loop import judged_again
from benchmarks.trials.hook import Hook, free_port
from daemon.clock import SystemClock
from daemon.firing.events import Sample
from daemon.firing.trace.csv_trace import write_trace
from daemon.store import alerts, firing_list, plans, requests
from daemon.store.database import FILE_NAME, create_database, open_database

ROOT = Path(__file__).parents[2]
UNIT = ROOT / "systemd" / "lehrling-daemon.service"
SPEED = 200.0
_SILENT_S = 20.0
"""How long the daemon stands still in the second case [s]: longer than the page takes for the present."""
_SAYS_IT_S = 15.0
"""From so long a silence on the page says that nothing is watched [s]."""
_PATIENCE_S = 60.0
PLAN = 'title = "Low slump"\nunit = "C"\n\n[[step]]\nrate = 300\nto = 100\nhold_min = 60\n'


def watchdog_s() -> float:
    """Return after how long a silence systemd ends the daemon [s], from its unit."""
    found = re.search(r"^WatchdogSec=(\d+)$", UNIT.read_text(encoding="utf-8"), re.MULTILINE)
    if found is None:
        raise ValueError(f"{UNIT.name} has no WatchdogSec")
    return float(found[1])


class House:
    """A folder with the three processes at work on it."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.hook, self.port = folder, Hook(), free_port()
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
        self._systemd = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._systemd.bind(str(folder / "notify"))
        self._signs = 0
        threading.Thread(target=self._hear, daemon=True).start()
        self.log = (folder / "log").open("ab")
        self.daemon: subprocess.Popen[bytes] | None = None
        self.web = self._start("web", "--open", "--port", str(self.port))
        self.deliver = self._start("deliver")

    def _start(self, command: str, *more: str) -> subprocess.Popen[bytes]:
        surroundings = {"PATH": "/usr/bin:/bin", "NOTIFY_SOCKET": str(self.folder / "notify")}
        return subprocess.Popen(
            [sys.executable, "-m", "daemon.cli", command, "--data", self.folder, "--run", self.folder, *more],
            cwd=ROOT, env=surroundings, stdout=self.log, stderr=self.log)

    def start_daemon(self) -> None:
        """Start the daemon; one that runs is ended first, as a watchdog does."""
        if self.daemon is not None:
            self.daemon.kill()
            self.daemon.wait()
        self.daemon = self._start("daemon", "--speed", str(SPEED))

    def tell_daemon(self, number: signal.Signals) -> None:
        """Send the daemon a signal; one that holds it still has done so on return."""
        daemon = self.daemon
        if daemon is not None:
            daemon.send_signal(number)
            if number is signal.SIGSTOP:
                self.until(lambda: self._is_still(daemon.pid), "the daemon stands still")

    def _is_still(self, pid: int) -> bool:
        """Return whether a process is held still, and each sign of life it gave before is counted."""
        state = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()[0]
        return state == "T" and not select([self._systemd], [], [], 0.0)[0]

    def close(self) -> None:
        """End everything that was started."""
        for process in (self.web, self.deliver, *([self.daemon] if self.daemon else [])):
            process.send_signal(signal.SIGCONT)
            process.kill()
            process.wait()
        self.hook.close()
        self._systemd.close()
        self.log.close()

    def is_alive(self, within_s: float) -> bool:
        """Return whether the daemon gives a sign of life within so many seconds; earlier ones do not count."""
        heard, ends = self._signs, perf_counter() + within_s
        while self._signs == heard and perf_counter() < ends:
            sleep(0.05)
        return self._signs > heard

    def _hear(self) -> None:
        """Count the daemon's signs of life; a socket that nobody reads would hold it up."""
        while True:
            try:
                self._signs += bool(self._systemd.recv(64))
            except OSError:
                return  # closed

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
        """Wait until something is so; where it is not within a minute, that is a problem."""
        ends = perf_counter() + _PATIENCE_S
        while not true():
            if perf_counter() > ends:
                self.problems.append(f"not within {_PATIENCE_S:.0f} s: {what}")
                return
            sleep(0.05)

    def claim(self, holds: object, what: str) -> None:
        """Note what does not hold."""
        if not holds:
            self.problems.append(f"not so: {what}")


def _stop_delivery_and_page(house: House, still_s: float) -> None:
    """Hold both still while the alert rises."""
    house.until(lambda: house.page(), "the page answers")
    for process in (house.deliver, house.web):
        process.send_signal(signal.SIGSTOP)
    house.start_daemon()
    house.until(lambda: house.present()["alerts"], "the alert rises though nobody delivers")
    house.claim(house.page(1.0) is None, "a page that stands still does not answer")
    sleep(still_s)
    house.claim(not house.hook.taken, "no message goes while delivery stands still")
    for process in (house.deliver, house.web):
        process.send_signal(signal.SIGCONT)
    house.until(lambda: house.hook.taken, "the message arrives afterwards")
    house.until(lambda: (house.page() or {}).get("rings"), "the page answers and rings")


def _stop_daemon_for_a_while(house: House, still_s: float) -> None:
    """Hold the daemon still for less than the watchdog's time."""
    house.tell_daemon(signal.SIGSTOP)
    before = house.present()["t_s"]
    house.claim(not house.is_alive(still_s), "a daemon that stands still gives no sign of life")
    if still_s > _SAYS_IT_S:
        shown = house.page()
        house.claim(shown and "Nothing is being watched" in shown["texts"]["stale"], "the page says so")
    house.tell_daemon(signal.SIGCONT)
    house.claim(house.is_alive(_PATIENCE_S), "it gives signs of life again")
    house.until(lambda: house.present()["t_s"] > before + 60, "the watch goes on")
    db = open_database(house.folder / FILE_NAME, readonly=True)
    house.claim(db.execute("SELECT count(*) FROM gap").fetchone()[0] == 0, "there is no gap")
    db.close()


def _stop_daemon_for_good(house: House, dog_s: float) -> float:
    """Hold the daemon still until the watchdog ends it; return how soon after that the watch goes on [s]."""
    before = house.present()
    house.tell_daemon(signal.SIGSTOP)
    house.claim(not house.is_alive(dog_s), "it gives no sign of life for the watchdog's time")
    house.start_daemon()
    began = perf_counter()
    house.claim(house.is_alive(_PATIENCE_S), "the one that was started again gives signs of life")
    house.until(lambda: house.stored_s() > before["t_s"] + dog_s * SPEED, "the watch goes on")
    back_s = perf_counter() - began
    house.claim(house.present()["firing_id"] == before["firing_id"], "it is the same firing")
    return back_s


def _look_afterwards(house: House) -> dict[str, object]:
    """End all and hold the record against what was told; return figures."""
    house.until(lambda: len(house.hook.taken) >= 1, "messages")
    house.tell_daemon(signal.SIGTERM)
    house.until(lambda: house.daemon is None or house.daemon.poll() is not None, "the daemon ends")
    db = open_database(house.folder / FILE_NAME)
    house.until(lambda: not db.execute(
        "SELECT count(*) FROM outbox LEFT JOIN delivery USING (outbox_id) WHERE sent_utc IS NULL").fetchone()[0],
        "every message is sent")
    (listed,) = firing_list.matching(db, 10)
    row = listed.firing
    steps, otherwise = judged_again(db, row)
    house.problems += otherwise
    raised = [alert.kind for alert in alerts.alerts(db, row.firing_id)]
    house.claim(sorted(raised) == ["over-temperature", "readings-missing"], f"each alert was raised once: {raised}")
    gaps = [tuple(gap) for gap in db.execute("SELECT from_s, to_s FROM gap")]
    times = {row[0] for row in db.execute("SELECT t_s FROM reading")}
    missed = {t for t in range(0, max(times), 5) if t not in times and not any(a < t < b for a, b in gaps)}
    house.claim(not missed, f"outside the gaps no reading is missing ({len(missed)} are)")
    numbers = [row[0] for row in db.execute("SELECT outbox_id FROM outbox ORDER BY outbox_id")]
    house.claim(house.hook.taken == numbers, f"messages {numbers} arrived once, in order: {house.hook.taken}")
    db.close()
    return {"readings": len(times), "gaps_s": [b - a for a, b in gaps], "alert_steps": steps, "alerts": len(raised),
            "messages": len(numbers)}


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder; return its figures, with ``problems`` among them."""
    house = House(scratch)
    try:
        dog_s = 1.0 if short else watchdog_s()
        _stop_delivery_and_page(house, 0.2 if short else 10.0)
        _stop_daemon_for_a_while(house, 0.5 if short else _SILENT_S)
        back_s = _stop_daemon_for_good(house, dog_s)
        figures = _look_afterwards(house)
    finally:
        house.close()
    return {"watchdog_s": dog_s, "back_after_s": round(back_s, 1), **figures, "problems": house.problems}
