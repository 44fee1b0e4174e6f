"""Boxes fire at once; broker, database, collector are restarted, each box is away for an hour; all is counted."""

from __future__ import annotations

import logging
import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

import psycopg

from benchmarks.studio.boxes import Box, firings_at_once
from benchmarks.studio.cluster import PASSWORD, Cluster
from benchmarks.studio.others import Listener, Program, asked, free_port, installed, mosquitto, prometheus
from daemon.clock import SystemClock
from daemon.studio import given
from daemon.studio.verifying import verify

_STUDIO = (sys.executable, "-m", "daemon.cli", "studio")
HOUR_S = 3600.0
"""So long is each box away [s of the firing]. [source: the task of the run]"""
_DOWN_S = 3.0
"""So long are broker and database down [s of the clock]. [chosen: several rounds]"""
_ASKED = 9
"""So often a page is asked whose time is taken. [chosen: a median that one slow answer does not move]"""
_CATCH_UP_S = 120.0
"""So long the collector may take in the end to have all [s of the clock]. [chosen: far more than it takes]"""


@dataclass(frozen=True)
class Form:
    """How large a run is.

    Attributes
    ----------
    boxes
        How many.
    until_s
        Where the firings end [s].
    speed
        Seconds of the firing in a second of the clock.
    """

    boxes: int
    until_s: float
    speed: float


LONG = Form(30, 72_000.0, 400.0)
SHORT = Form(3, 14_400.0, 1200.0)


class Run:
    """One run in a folder."""

    def __init__(self, folder: Path, form: Form) -> None:
        self._folder, self._form, self._clock = folder, form, SystemClock()
        self._cluster = Cluster(folder / "postgresql", lasting=form is LONG)
        with psycopg.connect(self._cluster.address("postgres"), password=PASSWORD, autocommit=True) as db:
            db.execute("CREATE DATABASE studio")
        self._broker = mosquitto(folder / "mosquitto") if installed("mosquitto") else None
        self._listener: Listener | None = None
        self._monitor: Program | None = None
        self._boxes: list[Box] = []
        self._collector: subprocess.Popen[bytes] | None = None
        self._page: subprocess.Popen[bytes] | None = None
        self._events: list[str] = []
        self._rounds = 0

    def start(self) -> None:
        """Start everything."""
        port = None
        if self._broker is not None:
            self._broker.start()
            self._listener, port = Listener(self._broker.port), self._broker.port
        (self._folder / "boxes").mkdir()
        self._boxes = [Box(self._folder / "boxes" / str(number), number, self._form.until_s, port)
                       for number in range(1, self._form.boxes + 1)]
        for box in self._boxes:
            box.come()
        if installed("prometheus") and self._form is LONG:
            self._monitor = prometheus(self._folder / "prometheus", [box.port for box in self._boxes])
            self._monitor.start()
        self._write_settings()
        self._clock.sleep_until(self._clock.now_s() + 2.0)  # each publisher has found where to begin
        for box in self._boxes:
            box.begin()
        self._start_collector()
        self._page = self._command("web")

    def _write_settings(self) -> None:
        self._page_port = free_port()
        _private(self._folder / "password", PASSWORD)
        lines = [f'database = "{self._cluster.address("studio")}"', 'password_file = "password"', "every_s = 1",
                 f"port = {self._page_port}", "open_reading = true"]
        for box in self._boxes:
            _private(self._folder / f"{box.name}.token", box.token)
            lines += ["[[box]]", f'name = "{box.name}"', f'address = "http://127.0.0.1:{box.port}"',
                      f'token_file = "{box.name}.token"']
        (self._folder / "studio.toml").write_text("\n".join(lines) + "\n")
        subprocess.run([*_STUDIO, "web", "--set-passcode", "--settings", str(self._folder / "studio.toml")],
                       input=b"four plain words here\n", check=True, capture_output=True, timeout=120)

    def _command(self, action: str) -> subprocess.Popen[bytes]:
        with (self._folder / f"{action}.log").open("ab") as log:
            return subprocess.Popen([*_STUDIO, action, "--settings", str(self._folder / "studio.toml")],
                                    stdin=subprocess.DEVNULL, stdout=log, stderr=log)

    def _start_collector(self) -> None:
        self._collector = self._command("collect")

    def fire(self) -> None:
        """Let all fire to the end, while one thing after another goes wrong."""
        form, began_s = self._form, self._clock.now_s()
        plan = sorted(self._troubles(), key=lambda one: one[0])
        while True:
            at_s = (self._clock.now_s() - began_s) * form.speed
            while plan and plan[0][0] <= at_s:
                _, said, act = plan.pop(0)
                self._events.append(said)
                act()
            if firings_at_once(self._boxes, min(at_s, form.until_s)) and not plan:
                return
            self._clock.sleep_until(self._clock.now_s() + 0.2)

    def _troubles(self) -> list[tuple[float, str, Any]]:
        """Return what goes wrong: when [s of the firing], what, and how it is done."""
        until_s, down_s = self._form.until_s, _DOWN_S * self._form.speed
        found: list[tuple[float, str, Any]] = []
        for number, box in enumerate(self._boxes):  # in three groups, one after another
            away_s = until_s * (0.2 + 0.2 * (number % 3))
            found += [(away_s, f"{box.name} away", box.go), (away_s + HOUR_S, f"{box.name} back", box.come)]
        if self._broker is not None:
            for share in (0.15, 0.5):
                found += [(until_s * share, "broker stopped", self._broker.stop),
                          (until_s * share + down_s, "broker started", self._broker.start)]
        found += [(until_s * 0.3, "database's power failed", lambda: self._cluster.stop(at_once=True)),
                  (until_s * 0.3 + down_s, "database started", self._cluster.start),
                  (until_s * 0.65, "database stopped", self._cluster.stop),
                  (until_s * 0.65 + down_s, "database started", self._cluster.start),
                  (until_s * 0.45, "collector killed", self._kill_collector),
                  (until_s * 0.45 + down_s, "collector started", self._start_collector)]
        return found

    def _kill_collector(self) -> None:
        if self._collector is not None:
            self._collector.kill()
            self._collector.wait(30)

    def catch_up(self) -> float:
        """Wait until the collector has all; return how long that took [s of the clock]."""
        began_s = self._clock.now_s()
        while self._clock.now_s() - began_s < _CATCH_UP_S:
            if not self._missing() and not self._unheard():
                break
            self._clock.sleep_until(self._clock.now_s() + 0.5)
        return self._clock.now_s() - began_s

    def _missing(self) -> list[str]:
        """Return the boxes of which links, or what is beside them, were not collected yet."""
        with self._database() as db:
            if db.execute("SELECT to_regclass('lehrling.firing')").fetchone() == (None,):
                return [box.name for box in self._boxes]  # on a busy computer the collector starts in half a minute
            have = {(name, firing_id): (head, mark) for name, firing_id, head, mark in db.execute(
                "SELECT name, firing_id, head, beside_mark FROM lehrling.firing JOIN lehrling.box USING (box)")}
        missing = []
        for box in self._boxes:
            for firing_id, _, head, _ in given.overview(box.record):
                found = have.get((box.name, firing_id))
                beside = given.digest(given.beside(box.record, firing_id))
                if found is None or (found[0].hex(), found[1]) != (head, beside):
                    missing.append(box.name)
        return missing

    def _unheard(self) -> list[str]:
        """Return the boxes of which an alert step was not heard yet."""
        if self._listener is None:
            return []
        return [box.name for box in self._boxes if len(set(self._listener.heard.get(box.name, []))) < len(
            box.ask("SELECT transition_id FROM transition"))]

    def _database(self) -> psycopg.Connection[Any]:
        return psycopg.connect(self._cluster.address("studio"), password=PASSWORD, autocommit=True)

    def counted(self) -> dict[str, Any]:
        """Return what was found, and what is wrong with it."""
        problems: list[str] = []
        counts = dict.fromkeys(_ORDERED, 0)
        with self._database() as db:
            for box in self._boxes:
                self._compare(db, box, counts, problems)
            wrong = [f"{one.box}, firing {one.firing_id}: {one.faults}" for one in verify(db) if one.faults]
            row = db.execute("SELECT pg_database_size('studio')").fetchone()
        problems += wrong
        steps, twice = self._heard(problems)
        return {
            "boxes": len(self._boxes), "speed": self._form.speed, "firing_h": round(self._form.until_s / 3600, 1),
            "collected": counts, "database_mb": round((row[0] if row else 0) / 1e6, 1),
            "mqtt_steps": steps, "mqtt_twice": twice, "prometheus_kilns": self._monitored(problems),
            "page_kilns": self._shown(problems), **self._costs(), "went_wrong": len(self._events),
            "problems": problems}

    def _costs(self) -> dict[str, float]:
        """Return what an answer of the page takes, the first left aside, and what the collector has taken."""
        base = f"http://127.0.0.1:{self._page_port}"
        found: dict[str, float] = {}
        for name, address in (("front_ms", "/"), ("list_ms", "/kiln/kiln-01/firings"),
                              ("firing_ms", "/kiln/kiln-01/firings/1")):
            times = []
            for _ in range(_ASKED + 1):
                began_s = perf_counter()
                _page(base + address)
                times.append(1000 * (perf_counter() - began_s))
            found[name] = round(median(times[1:]))
        pid = self._collector.pid if self._collector is not None else 0
        status = Path(f"/proc/{pid}/status").read_text()
        ticks = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[11:13]
        return {**found, "collector_mb": round(int(status.partition("VmRSS:")[2].split()[0]) / 1024),
                "collector_cpu_s": round(sum(map(int, ticks)) / os.sysconf("SC_CLK_TCK"), 1)}

    def _compare(self, db: psycopg.Connection[Any], box: Box, counts: dict[str, int], problems: list[str]) -> None:
        """Hold what was collected from a box against its record, row by row in order."""
        row = db.execute("SELECT box FROM lehrling.box WHERE name = %s AND closed_utc IS NULL", [box.name]).fetchone()
        db.execute("SELECT set_config('lehrling.box', %s, false)", [str(row[0] if row else 0)])
        for table, columns in _ORDERED.items():
            query = f"SELECT {columns} FROM {{}}{table} ORDER BY {columns}"
            there = box.ask(query.format(""))
            here = [tuple(one) for one in db.execute(query.format("lehrling_page.").encode()).fetchall()]
            counts[table] += len(here)
            if here != there:
                problems.append(f"{box.name}: {table} differs: {len(there)} there, {len(here)} here")

    def _heard(self, problems: list[str]) -> tuple[int, int]:
        """Return how many alert steps were heard over MQTT, and how many came twice."""
        steps = twice = 0
        for box in self._boxes if self._listener is not None else ():
            assert self._listener is not None
            numbers = self._listener.heard.get(box.name, [])
            once = list(dict.fromkeys(numbers))
            wanted = [number for (number,) in box.ask("SELECT transition_id FROM transition ORDER BY transition_id")]
            if once != wanted:
                problems.append(f"{box.name}: alert steps heard {once}, recorded {wanted}")
            steps, twice = steps + len(once), twice + len(numbers) - len(once)
        return steps, twice

    def _monitored(self, problems: list[str]) -> int | None:
        """Return of how many kilns the monitor has the temperature."""
        if self._monitor is None:
            return None
        found = {one["metric"]["kiln"] for one in asked(
            self._monitor, "max_over_time(lehrling_kiln_temperature_celsius[1h])")}
        if found != {box.name for box in self._boxes}:
            problems.append(f"the monitor has {len(found)} kilns")
        return len(found)

    def _shown(self, problems: list[str]) -> int:
        """Return how many kilns the studio's first page shows, each with its firing on its own page."""
        base = f"http://127.0.0.1:{self._page_port}"
        front = _page(base + "/")
        found = sum(f"/kiln/{box.name}/" in front for box in self._boxes)
        for box in self._boxes:
            if f"Bowl of {box.name}" not in _page(f"{base}/kiln/{box.name}/firings"):
                problems.append(f"{box.name}: its firing is not on its page")
        if found != len(self._boxes):
            problems.append(f"the first page shows {found} kilns")
        return found

    def close(self) -> None:
        """End everything that was started."""
        for process in (self._collector, self._page):
            if process is not None and process.poll() is None:
                process.send_signal(signal.SIGTERM)
                process.wait(30)
        if self._listener is not None:
            self._listener.close()
        for box in self._boxes:
            box.close()
        for program in (self._monitor, self._broker):
            if program is not None:
                program.stop()
        self._cluster.stop()


_ORDERED = {
    "reading": "firing_id, t_s, temp_128, below_128, above_128, fault",
    "link": "firing_id, no, kind, ref, own, head", "note": "firing_id, wall_utc, text",
    "transition": "t_s, wall_utc, change, kind, rank, what", "alert": "firing_id, no, kind, rank, what, cleared_s",
    "part": "firing_id, seq, part_index, start_s, end_s, mean_c", "milestone": "firing_id, t_s, name, text",
    "outcome": "firing_id, piece_id, words, wall_utc", "judgement": "firing_id, wall_utc, version, told"}
"""Tables of a box's record, and by which columns their rows are ordered and compared."""


def run(folder: Path, form: Form) -> dict[str, Any]:
    """Do the run, and return its figures; ``problems`` is empty where all is there once, in order, with its hash."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)  # a line for each answer of each box
    made = Run(folder, form)
    try:
        made.start()
        made.fire()
        waited_s = made.catch_up()
        return {**made.counted(), "caught_up_s": round(waited_s, 1)}
    finally:
        made.close()


def _page(address: str) -> str:
    """Return what a page says; nothing where it is refused, which is then found missing."""
    try:
        with urllib.request.urlopen(address, timeout=60) as answer:
            return str(answer.read().decode())
    except urllib.error.HTTPError:
        return ""


def _private(path: Path, text: str) -> None:
    path.write_text(text)
    os.chmod(path, 0o600)


def missing(names: Sequence[str]) -> list[str]:
    """Return the programs that are not installed."""
    return [name for name in names if installed(name) is None]
