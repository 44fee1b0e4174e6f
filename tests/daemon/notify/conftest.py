"""Real other sides on loopback, a database as the daemon makes it, and a clock that obeys."""

import http.server
import json
import threading
import time
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import pytest

from daemon.store.database import create_database, transaction

NIGHT = datetime(2026, 11, 25, 2, 10, tzinfo=UTC)


class Got(NamedTuple):
    at: float
    path: str
    title: str
    body: str
    kind: str


class Endpoint:
    """A web hook on loopback. ``answers`` are used up one a message; "hang" answers nothing."""

    def __init__(self):
        self.got: list[Got] = []
        self.answers: list[int | str] = []
        self.let_go = threading.Event()
        outer = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_POST(self):
                message = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
                answer = outer.answers.pop(0) if outer.answers else 200
                outer.got.append(
                    Got(time.monotonic(), self.path, message["title"], message["message"], message["type"]))
                if answer == "hang":
                    outer.let_go.wait(30)
                    return
                self.send_response(answer)
                self.end_headers()

            def log_message(self, *args):
                pass

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        self.port = self.server.server_port
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.02})
        self.thread.start()

    def url(self, more=""):
        return f"json://127.0.0.1:{self.port}/hook{more}"

    def titles(self):
        return [got.title for got in self.got]

    def close(self):
        self.let_go.set()
        self.server.shutdown()
        self.server.server_close()
        self.thread.join(5)


@pytest.fixture
def endpoint():
    made = Endpoint()
    yield made
    made.close()


class House:
    """A migrated database with one firing; ``write`` puts messages in as the daemon would."""

    def __init__(self, folder):
        self.path = folder / "lehrling.db"
        self.db = create_database(self.path)
        self.db.execute("INSERT INTO kiln VALUES (1, 'bench')")
        self.db.execute("INSERT INTO probe VALUES (1, 1, 'bench', 'K')")
        self.db.execute(
            "INSERT INTO firing (firing_id, kiln_id, probe_id, title, opened_by, started_utc, start_boot_id,"
            " start_clock_s, glass, thickness_mm)"
            " VALUES (1, 1, 1, 'Leaf tile', 'maker', ?, 'boot', 0.0, '90', 6.0)",
            [NIGHT.isoformat()])
        self.db.commit()

    def write(self, title, channels=("phone",), change="woke", rank="wake", alert_no=1, created=NIGHT):
        with transaction(self.db):
            alert_id = self._insert(
                "INSERT INTO alert (firing_id, no, kind, rank, since_s, raised_s, what, meaning, advice)"
                " VALUES (1, ?, 'cooling-too-fast', ?, 0, 0, '', '', '')"
                " ON CONFLICT (firing_id, no) DO UPDATE SET rank = excluded.rank RETURNING alert_id",
                alert_no, rank)
            transition_id = self._insert(
                "INSERT INTO transition (alert_id, t_s, wall_utc, change, kind, rank, what)"
                " VALUES (?, 0, ?, ?, 'cooling-too-fast', ?, '') RETURNING transition_id",
                alert_id, created.isoformat(), change, rank)
            return [self._insert(
                "INSERT INTO outbox (transition_id, channel, title, body, created_utc)"
                " VALUES (?, ?, ?, ?, ?) RETURNING outbox_id",
                transition_id, channel, title, f"{title}, in full.", created.isoformat())
                for channel in channels]

    def _insert(self, sql, *values):
        return self.db.execute(sql, values).fetchall()[0][0]

    def deliveries(self):
        return {row["outbox_id"]: row for row in self.db["delivery"].rows}


@pytest.fixture
def house(tmp_path):
    made = House(tmp_path)
    yield made
    made.db.close()


class HandClock:
    """Time that moves when the test says so."""

    speed = 1.0
    boot_id = "boot"

    def __init__(self):
        self.passed_s = 0.0

    def now_s(self):
        return self.passed_s

    def utc(self):
        return NIGHT + timedelta(seconds=self.passed_s)

    def synchronised(self):
        return True

    def sleep_until(self, deadline_s):
        self.passed_s = max(self.passed_s, deadline_s)


@pytest.fixture
def clock():
    return HandClock()


def key(folder, name, url, mode=0o640):
    """Write a channel's address file as the owner should."""
    path = folder / f"{name}.url"
    path.write_text(url + "\n")
    path.chmod(mode)
    return path


@pytest.fixture
def write_key(tmp_path):
    return lambda name, url, mode=0o640: key(tmp_path, name, url, mode)
