"""Real other sides on loopback, a database as the daemon makes it, and a clock that obeys."""

import http.server
import json
import os
import shutil
import socket
import subprocess
import threading
import time
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import pytest

from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.notify.alert_messages import OutboxRow
from daemon.store import kilns
from daemon.store.alerts import record
from daemon.store.database import create_database
from daemon.store.firings import open_firing

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
                    outer.let_go.wait(120)
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
    """A database with one open firing; ``write`` puts messages in as the daemon does."""

    def __init__(self, folder, record_file):
        self.path = folder / "lehrling.db"
        self.path.write_bytes(record_file)
        self.db = create_database(self.path)
        kiln = kilns.kiln_id(self.db, "bench")
        self.firing_id = open_firing(
            self.db, kiln_id=kiln, probe_id=kilns.probe_id(self.db, kiln, "bench", "K"), title="Leaf tile",
            opened_by="maker", started_utc=NIGHT, boot_id="boot", clock_s=0.0)

    def write(self, title, channels=("phone",), change="woke", rank="wake", alert_no=1, created=NIGHT):
        """Record a change of an alert with a message for each channel; return the messages' numbers."""
        alert = Alert(no=alert_no, kind="cooling-too-fast", rank=Rank(rank), since_s=0.0, raised_s=0.0,
                      text=Text(title, "", ""))
        before = self._numbers()
        record(self.db, self.firing_id, AlertChanged(0.0, change, alert), created,
               [OutboxRow(channel, title, f"{title}, in full.") for channel in channels])
        return sorted(self._numbers() - before)

    def _numbers(self):
        return {row["outbox_id"] for row in self.db["outbox"].rows}

    def deliveries(self):
        return {row["outbox_id"]: row for row in self.db["delivery"].rows}


@pytest.fixture
def house(tmp_path, empty_database):
    made = House(tmp_path, empty_database)
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


MOSQUITTO = shutil.which("mosquitto", path=f"{os.environ.get('PATH', '')}:/usr/sbin")


class Mosquitto:
    """A broker of Debian on loopback."""

    def __init__(self, folder, access="allow_anonymous true", more="persistence false"):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.config = folder / "mosquitto.conf"
        self.config.write_text(f"listener {self.port} 127.0.0.1\n{access}\n{more}\n")
        self.process = None

    def start(self):
        self.process = subprocess.Popen([str(MOSQUITTO), "-c", str(self.config)], stdout=subprocess.DEVNULL,
                                        stderr=subprocess.DEVNULL)
        for _ in range(200):
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
                return
            except OSError:
                time.sleep(0.05)
        pytest.fail("mosquitto did not start")

    def stop(self):
        if self.process is not None:
            self.process.kill()
            self.process.wait()

    def end(self):
        """Stop in order, as a service is stopped: what it keeps is written first."""
        self.process.terminate()
        self.process.wait(30)

    def url(self):
        return f"mqtt://127.0.0.1:{self.port}/studio/kiln/alive"

    def word(self, topic="studio/kiln/alive", within_s=30):
        """Return what stands under the topic, by Debian's own client."""
        return self.subscribe("-t", topic, "-C", "1", "-W", str(within_s))

    def subscribe(self, *more):
        """Run Debian's own client in MQTT 5 and return what it prints."""
        return subprocess.run(
            ["mosquitto_sub", "-V", "mqttv5", "-h", "127.0.0.1", "-p", str(self.port), *more],
            capture_output=True, timeout=60, check=False).stdout.strip()


@pytest.fixture
def make_broker(tmp_path):
    """Return a function that starts a broker; it takes lines of its configuration."""
    if (MOSQUITTO is None or shutil.which("mosquitto_sub") is None) and "CI" not in os.environ:
        pytest.skip("Debian's mosquitto and mosquitto-clients are not installed")
    made = []

    def make(*lines):
        made.append(Mosquitto(tmp_path, *lines))
        made[-1].start()
        return made[-1]

    yield make
    for broker in made:
        broker.stop()


@pytest.fixture
def broker(make_broker):
    return make_broker()
