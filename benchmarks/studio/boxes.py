"""Boxes of the run, each with a record, its page on loopback and its publishing; they fire simulated firings fast.

The firings are simulated and judged by the decision of a live one. They are written by the functions that the daemon
writes with, reading by reading in the order of time, many times faster than a kiln is.
"""

from __future__ import annotations

import json
import os
import threading
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

import sqlite_utils
from werkzeug.serving import BaseWSGIServer, make_server

from daemon.clock import SystemClock
from daemon.delivery.publishing.publisher import Publisher
from daemon.firing.events import AlertChanged, Milestone, PartsRevised
from daemon.firing.plan.plan import parse_plan
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from daemon.lifecycle.keep_whole import Judged, judge_whole
from daemon.settings.mqtt import Mqtt
from daemon.store import alerts, firings, found_parts, judgements, kilns, notes, outcomes, pieces, plans, readings
from daemon.store.database import FILE_NAME, create_database, transaction
from simulations.firing import read_faults, simulate
from simulations.studio.seed import FULL_FUSE
from web.app import create_app
from web.security import passcode, studio_token
from web.settings import Settings

FAULTS: tuple[tuple[str, ...], ...] = (
    ("power-cut=40min@step1:ramp+60min",), ("cooling=2.5,12min@step5:ramp+60s", "power-cut=20min@step1:ramp+90min"),
    ("start-late=10min", "power-cut=30min@step2:hold+2min"), ())
"""What goes wrong in the firings; each box fires one of them."""
_THICKNESS_MM = 6.0
NOTE_EVERY_S = 6000.0
"""So often somebody writes a note [s of the firing]. [chosen: some dozen a firing]"""


@cache
def fired(variant: int, until_s: float) -> Judged:
    """Return a simulated firing up to a second of it, judged."""
    plan = parse_plan(FULL_FUSE, "the run's plan")
    samples = simulate(plan, faults=read_faults(FAULTS[variant], plan), seed=41 + variant).samples
    return judge_whole(Setup(plan, FAMILIES["90"], _THICKNESS_MM), [one for one in samples if one.t_s <= until_s])


class Box:
    """One box.

    Parameters
    ----------
    folder
        Of its record, made here.
    number
        From 1; says which firing it fires.
    until_s
        Where its firing ends [s].
    broker_port
        The broker on loopback; None publishes nothing.
    """

    def __init__(self, folder: Path, number: int, until_s: float, broker_port: int | None) -> None:
        folder.mkdir()
        self.name, self.folder = f"kiln-{number:02d}", folder
        self._clock = SystemClock()
        self._fired = fired((number - 1) % len(FAULTS), until_s)
        self._db: sqlite_utils.Database = create_database(folder / FILE_NAME)
        self._firing, self._reading, self._event, self._noted_s = 0, 0, 0, 0.0
        self._mqtt = None if broker_port is None else Mqtt("127.0.0.1", broker_port, f"lehrling/{self.name}")
        self._publisher: Publisher | None = None
        settings = Settings(data_dir=folder, run_dir=folder, kiln=self.name, studio=True, metrics=True)
        self.token = studio_token.token(passcode.page_key(folder), passcode.fingerprint(settings.passcode_path))
        self._app = create_app(settings)
        self._server: BaseWSGIServer | None = None
        self._thread: threading.Thread | None = None
        self.port = 0

    @property
    def is_over(self) -> bool:
        """Return whether its firing has ended."""
        return self._reading == len(self._fired.samples)

    def begin(self) -> None:
        """Open the firing."""
        db, now_utc = self._db, self._clock.utc()
        with transaction(db):
            kiln = kilns.kiln_id(db, self.name)
            piece = pieces.add_piece(db, name="Tide-pool bowl", glass="90", thickness_mm=_THICKNESS_MM, layers="",
                                     note="Invented.", now_utc=now_utc)
            self._firing = firings.open_firing(
                db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title=f"Bowl of {self.name}",
                opened_by="maker", started_utc=now_utc, boot_id=f"boot-{self.name}", clock_s=0.0, piece_ids=[piece],
                plan_id=plans.add_plan(db, FULL_FUSE, now_utc), thickness_mm=_THICKNESS_MM)

    def advance(self, to_s: float) -> None:
        """Keep what came up to a second of the firing, in one transaction, and write the state."""
        if self.is_over:
            return
        samples, events, db, now_utc = self._fired.samples, self._fired.events, self._db, self._clock.utc()
        first = self._reading
        with transaction(db):
            while self._reading < len(samples) and samples[self._reading].t_s <= to_s:
                self._reading += 1
            readings.append(db, self._firing, samples[first:self._reading])
            while self._event < len(events) and events[self._event].t_s <= to_s:
                self._keep(events[self._event], now_utc)
                self._event += 1
            if to_s - self._noted_s >= NOTE_EVERY_S:
                self._noted_s = to_s
                notes.add_note(db, self._firing, f"Looked at {to_s:.0f} s.", now_utc)
            if self.is_over:
                self._end(now_utc)
        self._say(now_utc)

    def _keep(self, event: object, now_utc: datetime) -> None:
        if isinstance(event, AlertChanged):
            alerts.record(self._db, self._firing, event, now_utc)
        elif isinstance(event, Milestone):
            found_parts.add_milestone(self._db, self._firing, event)
        elif isinstance(event, PartsRevised):
            found_parts.replace_parts(self._db, self._firing, event.parts)

    def _end(self, now_utc: datetime) -> None:
        """End the firing, judge it, and say how it came out."""
        db = self._db
        found_parts.replace_parts(db, self._firing, self._fired.parts)
        firings.end_firing(db, self._firing, self._fired.samples[-1].t_s, now_utc, "maker")
        if self._fired.judgement is not None:
            judgements.add_judgement(db, self._firing, self._fired.judgement, "run", now_utc)
        outcomes.add_outcome(db, firing_id=self._firing, piece_id=1, words=["as hoped"], place="", note="",
                             now_utc=now_utc + timedelta(seconds=1))

    def _say(self, now_utc: datetime) -> None:
        """Write the state file, in one step as the daemon does."""
        sample = self._fired.samples[self._reading - 1]
        said = {"written_utc": now_utc.isoformat(), "kiln": self.name, "speed": 1.0, "now_s": sample.t_s,
                "firing_id": None if self.is_over else self._firing, "firing_title": f"Bowl of {self.name}",
                "t_s": None if self.is_over else sample.t_s, "temp_c": sample.temp_c, "fault": None,
                "rate_c_per_h": 0.0, "sentence": "", "alerts": [], "trouble": []}
        part = self.folder / "present.json.part"
        part.write_text(json.dumps(said), encoding="utf-8")
        os.replace(part, self.folder / "present.json")

    @property
    def record(self) -> sqlite_utils.Database:
        """Return its record, for this thread."""
        return self._db

    def come(self) -> None:
        """Be on the network: serve the page, at the same port each time, and publish."""
        self._server = make_server("127.0.0.1", self.port, self._app, threaded=True)
        self.port = self._server.port
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True)
        self._thread.start()
        if self._mqtt is not None:
            self._publisher = Publisher(self._mqtt, self.name, self.folder, self.folder, self._clock)
            self._publisher.start()

    def go(self) -> None:
        """Be away from the network; the firing goes on."""
        if self._publisher is not None:
            self._publisher.close()
        if self._server is not None and self._thread is not None:
            self._server.shutdown()
            self._thread.join()
            self._server.server_close()
            self._server = None

    def ask(self, query: str) -> list[tuple[object, ...]]:
        """Return what its record has."""
        return [tuple(row) for row in self._db.execute(query).fetchall()]

    def close(self) -> None:
        """End it."""
        self.go()
        self._db.close()


def firings_at_once(boxes: Sequence[Box], to_s: float) -> bool:
    """Let every box fire on to a second; return whether all are over."""
    for box in boxes:
        box.advance(to_s)
    return all(box.is_over for box in boxes)
