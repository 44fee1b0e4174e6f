"""A small invented studio on paper: filled through the store's own functions, served to a test client."""

from __future__ import annotations

import http.client
import json
import os
import re
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, ClassVar
from unittest.mock import patch
from zoneinfo import ZoneInfo

import pytest
from flask import Flask
from flask.testing import FlaskClient
from jinja2 import BytecodeCache
from jinja2.bccache import Bucket
from werkzeug.routing import Rule

from daemon.firing.events import Alert, AlertChanged, Part, Rank, Sample, Text
from daemon.firing.plan.plan import parse_plan
from daemon.firing.plan.schedule import at, curve, planned_parts
from daemon.store import alerts, firings, found_parts, kilns, pieces, plans, readings, requests
from daemon.store.database import FILE_NAME, create_database, open_database
from web.app import create_app
from web.security import passcode
from web.settings import Settings

PLAN_TOML = """title = "Full fuse, two layers"
unit = "C"

[[step]]
rate = 220
to = 670
hold_min = 30
purpose = "squeeze"

[[step]]
rate = "free"
to = 800
hold_min = 10
purpose = "top"

[[step]]
rate = "free"
to = 516
hold_min = 60
purpose = "anneal"

[[step]]
rate = 55
to = 460

[[step]]
rate = 110
to = 370

[[step]]
rate = 150
to = 60
"""
PARTS = planned_parts(parse_plan(PLAN_TOML, "the test's plan"))
POINTS = curve(PARTS)
COOLING = Text(
    what="Cooling too fast: 112 °C/h, planned 55.",
    meaning="Stress is being frozen into a 6 mm piece.",
    do="Close the vents. Leave the lid shut; use gloves. Do not open the kiln to look.",
    time_left_s=1500.0,
)


class CompiledTemplates(BytecodeCache):
    """The code of the templates, compiled once for all apps of these tests instead of once for each."""

    def __init__(self) -> None:
        self.codes: dict[tuple[str, str], Any] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        bucket.code = self.codes.get((bucket.key, bucket.checksum))

    def dump_bytecode(self, bucket: Bucket) -> None:
        self.codes[bucket.key, bucket.checksum] = bucket.code


@cache
def templates_for(thickness_unit: str) -> CompiledTemplates:
    """Return the templates of apps with this unit, which a filter with a constant would have in its code."""
    del thickness_unit
    return CompiledTemplates()


class CompiledRule(Rule):
    """A route that is parsed, and whose code that builds addresses is compiled, once for all apps of these tests."""

    parsed: ClassVar[dict[object, tuple[Any, Any, Any, Any]]] = {}
    codes: ClassVar[dict[object, Any]] = {}

    def compile(self) -> None:
        key = (self.rule, self.subdomain, self.host, repr(self.defaults), self.merge_slashes)
        if key not in self.parsed:
            super().compile()
            self.parsed[key] = (self._parts, self._trace, self._converters, self.arguments)
        self._parts, self._trace, self._converters, self.arguments = self.parsed[key]
        self._build = self._compile_builder(False).__get__(self, None)
        self._build_unknown = self._compile_builder(True).__get__(self, None)

    def _compile_builder(self, append_unknown: bool = True) -> Any:
        key = (tuple(self._trace), repr(self.defaults), append_unknown)
        if key not in self.codes:
            self.codes[key] = super()._compile_builder(append_unknown)
        return self.codes[key]


@dataclass
class StillClock:
    """A clock that stands where it is put."""

    wall: datetime = datetime(2026, 3, 4, 1, 0, tzinfo=UTC)
    second: float = 1000.0
    speed: float = 1.0
    boot_id: str = "boot"
    is_set: bool = True

    def now_s(self) -> float:
        return self.second

    def utc(self) -> datetime:
        return self.wall

    def synchronised(self) -> bool:
        return self.is_set

    def sleep_until(self, deadline_s: float) -> None:
        self.second = deadline_s


FILLED: dict[tuple[bytes, str], tuple[int, bytes]] = {}
"""By the digest of a database and what ``Studio.fill`` was asked to add to it: the firing's id, the database then."""


@dataclass
class Studio:
    """The folders of one kiln and what they are filled with."""

    folder: Path
    empty: bytes | None = None
    """An empty database to copy, which is quicker than to make one."""
    clock: StillClock = field(default_factory=StillClock)
    unit: str = "C"

    @property
    def database(self) -> Path:
        return self.folder / FILE_NAME

    def settings(self, **others: Any) -> Settings:
        return Settings(**{
            "data_dir": self.folder, "run_dir": self.folder, "kiln": "small kiln", "unit": self.unit,
            "zone": ZoneInfo("Europe/Berlin"), "clock": self.clock, "open_house": True, **others,
        })

    def app(self, **others: Any) -> Flask:
        settings = self.settings(**others)
        with patch.object(Flask, "url_rule_class", CompiledRule):
            app = create_app(settings)
        app.jinja_env.bytecode_cache = templates_for(settings.config.thickness_unit)
        app.testing = False  # errors become the pages a maker would see
        return app

    def open_store(self) -> Any:
        if self.empty is not None and not self.database.exists():
            self.database.write_bytes(self.empty)
        return create_database(self.database)

    def fill(self, *, until_s: float = 31_000.0, ended: bool = False, alert: bool = False,
             title: str = "Bowl blank, river glass", opened_by: str = "maker", plan_toml: str = PLAN_TOML,
             **piece_facts: Any) -> int:
        """Keep one firing of one piece, whose trace follows ``plan_toml``, and return its id.

        What comes of it is copied where the same was added to the same database before.
        """
        before = self.database.read_bytes() if self.database.exists() else self.empty
        if before is None or self.database.with_name(f"{FILE_NAME}-wal").exists():  # none yet, or open elsewhere
            return self._fill(until_s, ended, alert, title, opened_by, plan_toml, piece_facts)
        asked = repr((until_s, ended, alert, title, opened_by, plan_toml, piece_facts, self.clock))
        key = sha256(before).digest(), asked
        if key not in FILLED:
            number = self._fill(until_s, ended, alert, title, opened_by, plan_toml, piece_facts)
            FILLED[key] = number, self.database.read_bytes()
            return number
        number, record = FILLED[key]
        self.database.write_bytes(record)
        return number

    def _fill(self, until_s: float, ended: bool, alert: bool, title: str, opened_by: str, plan_toml: str,
              piece_facts: dict[str, Any]) -> int:
        planned = planned_parts(parse_plan(plan_toml, "the test's plan"))
        db = self.open_store()
        try:
            kiln = kilns.kiln_id(db, "small kiln")
            probe = kilns.probe_id(db, kiln, "bench", "K")
            piece = pieces.add_piece(db, **{
                "name": "River bowl", "glass": "90", "thickness_mm": 6.0, "layers": "3 mm clear under 3 mm amber",
                "now_utc": self.clock.wall, **piece_facts})
            plan = plans.add_plan(db, plan_toml, self.clock.wall)
            starts = self.clock.wall - timedelta(seconds=until_s)
            number = firings.open_firing(
                db, kiln_id=kiln, probe_id=probe, title=title, opened_by=opened_by, started_utc=starts,
                boot_id="boot", clock_s=0.0, plan_id=plan, piece_ids=[piece])
            readings.append(db, number, trace(until_s, curve(planned)))
            found_parts.replace_parts(db, number, parts_until(until_s, planned))
            if alert:
                for change in ("raised", "woke"):
                    alerts.record(db, number, AlertChanged(until_s - 300, change, self.alert(until_s)),
                                  self.clock.wall)
            if ended:
                firings.end_firing(db, number, until_s, self.clock.wall, "maker")
            return number
        finally:
            db.close()

    def store(self, ask: Callable[[Any], Any]) -> Any:
        """Return what ``ask`` finds in the store."""
        db = open_database(self.database)
        try:
            return ask(db)
        finally:
            db.close()

    def asked(self) -> list[tuple[str, dict[str, Any]]]:
        """Return what the page has asked of the daemon so far."""
        return [(r.kind, dict(r.payload)) for r in self.store(requests.pending)]

    def alert(self, until_s: float) -> Alert:
        return Alert(1, "cooling-too-fast", Rank.WAKE, until_s - 900, until_s - 600, COOLING,
                     woke_s=until_s - 300, step=4)

    def say(self, firing_id: int | None, until_s: float = 31_000.0, *, alert: bool = False,
            age_s: float = 1.0, **others: Any) -> None:
        """Write the state file as the daemon does."""
        part = parts_until(until_s)[-1]
        said: dict[str, Any] = {
            "written_utc": (self.clock.wall - timedelta(seconds=age_s)).isoformat(), "kiln": "small kiln",
            "speed": 1.0, "now_s": until_s, "firing_id": firing_id, "firing_title": "Bowl blank, river glass",
            "t_s": until_s, "temp_c": at(POINTS, until_s), "fault": None, "rate_c_per_h": -54.0,
            "sentence": "Cooling through the anneal, 1 °C above plan. Nothing to do.",
            "finished": False, "confidence": 0.97, "planned_c": at(POINTS, until_s), "offset_c": None,
            "part": {"index": part.index, "step": part.step, "part": part.part, "start_s": part.start_s},
            "next": {"step": part.step + 1, "part": "ramp", "at_s": until_s + 1800}, "open_at_s": 45_000.0,
            "alerts": [], "trouble": [],
        }
        if firing_id is None:
            said |= {"t_s": None, "temp_c": 23.4, "rate_c_per_h": 0.0, "sentence": "", "part": None,
                     "next": None, "planned_c": None, "open_at_s": None}
        if alert:
            found = self.alert(until_s)
            said["sentence"] = COOLING.what
            said["alerts"] = [{
                "no": found.no, "kind": found.kind, "rank": "wake", "since_s": found.since_s,
                "raised_s": found.raised_s, "woke_s": found.woke_s, "cleared_s": None,
                "acknowledged_s": None, "step": 4, "under": None,
                "text": {"what": COOLING.what, "meaning": COOLING.meaning, "do": COOLING.do,
                         "time_left_s": COOLING.time_left_s},
            }]
        (self.folder / "present.json").write_text(json.dumps(said | others), encoding="utf-8")


def start_form(client: FlaskClient, **typed: Any) -> dict[str, Any]:
    """Return the form of a start as the page shows it, its token with it, and what is typed."""
    shown = client.get("/start").text
    return {**dict(re.findall(r'<input type="hidden" name="(saw|token)" value="([^"]*)"', shown)), **typed}


@pytest.fixture
def form_of_start() -> Callable[..., dict[str, Any]]:
    return start_form


@cache
def trace(until_s: float, points: Any = POINTS) -> list[Sample]:
    """Readings that lag the plan by a minute, with a ripple of a fifth of a degree and one gap."""
    samples = []
    for t_s in range(0, int(until_s) + 1, 5):
        if 9000 < t_s < 9600:
            continue
        planned_c = at(points, max(0.0, t_s - 60.0)) or 60.0
        samples.append(Sample(float(t_s), planned_c + 0.2 * (t_s // 5 % 3 - 1)))
    return samples


def parts_until(until_s: float, parts: Any = PARTS) -> list[Part]:
    found, start_s = [], 0.0
    for planned in parts:
        end_s = start_s + planned.duration_s
        rate = (planned.to_c - planned.from_c) / planned.duration_s * 3600 if planned.part == "ramp" else None
        mean = planned.to_c - 3.0 if planned.part == "hold" else None
        found.append(Part(planned.index, planned.step, planned.part, start_s,
                          end_s if end_s <= until_s else None, rate, mean))
        if end_s > until_s:
            break
        start_s = end_s
    return found


@pytest.fixture
def studio(tmp_path: Path, empty_database: bytes) -> Studio:
    return Studio(tmp_path, empty_database)


@pytest.fixture
def cheap_hash(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make the passcode's hash a cheap one; a dear one has a test of its own."""
    monkeypatch.setattr(passcode, "METHOD", "scrypt:1024:8:1")


@pytest.fixture
def client(studio: Studio) -> FlaskClient:
    return studio.app().test_client()


@dataclass
class RealServer:
    """The page as systemd would run it, on a port of its own."""

    process: subprocess.Popen[str]
    port: int

    def post_photograph(self, path: str, body: bytes, timeout_s: float = 90.0, **fields: str) -> tuple[int, str]:
        """Send a photograph as a browser does; return the status and the text of the answer."""
        edge = "edge-of-a-part-7d1f"
        parts = [f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
                 for name, value in fields.items()]
        parts.append(f'--{edge}\r\nContent-Disposition: form-data; name="photograph"; filename="a.jpg"\r\n'
                     "Content-Type: image/jpeg\r\n\r\n".encode() + body + f"\r\n--{edge}--\r\n".encode())
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout_s)
        try:
            line.request("POST", path, b"".join(parts), {
                "Content-Type": f"multipart/form-data; boundary={edge}", "Host": "localhost",
                "Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"})
            answer = line.getresponse()
            return answer.status, answer.read().decode()
        finally:
            line.close()

    def get(self, path: str, timeout_s: float = 60.0) -> int:
        """Return the status of an address."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=timeout_s)
        try:
            line.request("GET", path, headers={"Host": "localhost"})
            return line.getresponse().status
        finally:
            line.close()

    def memory_mb(self) -> float:
        """Return what the page's process holds in memory [MB]."""
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="ascii")
        return next(int(line.split()[1]) / 1000 for line in status.splitlines() if line.startswith("VmRSS"))


@pytest.fixture
def real_server(studio: Studio, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RealServer]:
    """Serve the studio's folder in a process of its own; its temporary files lie in a folder of their own."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = int(trial.getsockname()[1])
    studio.open_store().close()
    process = subprocess.Popen(
        [sys.executable, "-m", "daemon.cli", "web", "--data", str(studio.folder), "--run", str(studio.folder),
         "--open", "--port", str(port)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        env={**os.environ, "TMPDIR": str(tmp_path_factory.mktemp("temporary"))})
    try:
        assert process.stdout is not None
        assert str(port) in process.stdout.readline()
        yield RealServer(process, port)
    finally:
        process.terminate()
        process.wait(60)
        assert process.stdout is not None
        process.stdout.close()
