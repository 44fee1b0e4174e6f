"""The other programs of the run, each Debian's own, on loopback and ended by its number: broker and monitor."""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import urllib.request
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from daemon.clock import SystemClock

_START_S = 30.0
"""How long a program may take to answer [s]. [chosen: it takes one; far more on a busy computer]"""


def installed(name: str) -> str | None:
    """Return the path of a program; None where it is not installed."""
    return shutil.which(name) or shutil.which(name, path="/usr/sbin")


def free_port() -> int:
    """Return a port that nobody listens at."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


class Program:
    """A program that listens at a port."""

    def __init__(self, command: Sequence[str], port: int, log: Path) -> None:
        self._command, self.port, self._log = command, port, log
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it, and wait until it answers."""
        with self._log.open("ab") as log:
            self._process = subprocess.Popen(self._command, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
        clock = SystemClock()
        ends_s = clock.now_s() + _START_S
        while True:
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
            except OSError:
                if self._process.poll() is not None or clock.now_s() > ends_s:
                    raise RuntimeError(self._log.read_text(errors="replace")) from None
                clock.sleep_until(clock.now_s() + 0.05)
            else:
                return

    def stop(self, *, at_once: bool = False) -> None:
        """End it: in order, or as if the power failed."""
        if self._process is not None:
            (self._process.kill if at_once else self._process.terminate)()
            self._process.wait(_START_S)
            self._process = None


def mosquitto(folder: Path) -> Program:
    """Return a broker that keeps sessions and messages over a restart."""
    folder.mkdir()
    port = free_port()
    (folder / "mosquitto.conf").write_text(
        f"listener {port} 127.0.0.1\nallow_anonymous true\npersistence true\npersistence_location {folder}/\n"
        "user root\nmax_queued_messages 0\n")
    return Program([str(installed("mosquitto")), "-c", str(folder / "mosquitto.conf")], port, folder / "log")


def prometheus(folder: Path, ports: Sequence[int]) -> Program:
    """Return a monitor that asks each box for its figures once a second."""
    folder.mkdir()
    port = free_port()
    targets = ", ".join(f'"127.0.0.1:{box}"' for box in ports)
    (folder / "prometheus.yml").write_text(
        f"scrape_configs:\n  - job_name: kilns\n    scrape_interval: 2s\n    static_configs:\n"
        f"      - targets: [{targets}]\n")
    return Program([str(installed("prometheus")), f"--config.file={folder}/prometheus.yml",
                    f"--storage.tsdb.path={folder}/data", f"--web.listen-address=127.0.0.1:{port}"], port,
                   folder / "log")


def asked(monitor: Program, query: str) -> list[dict[str, Any]]:
    """Return what a monitor answers."""
    address = f"http://127.0.0.1:{monitor.port}/api/v1/query?{urlencode({'query': query})}"
    with urllib.request.urlopen(address, timeout=10) as answer:
        found: list[dict[str, Any]] = json.load(answer)["data"]["result"]
    return found


class Listener:
    """Subscribes to the events of all boxes, in a session that lasts over a restart of the broker."""

    def __init__(self, port: int) -> None:
        from paho.mqtt.client import CallbackAPIVersion, Client, MQTTProtocolVersion
        from paho.mqtt.packettypes import PacketTypes
        from paho.mqtt.properties import Properties

        self.heard: dict[str, list[int]] = {}
        self._client = Client(CallbackAPIVersion.VERSION2, "listener", protocol=MQTTProtocolVersion.MQTTv5)
        self._client.on_connect = lambda client, *_: client.subscribe("lehrling/+/event", qos=1)
        self._client.on_message = self._take
        self._client.reconnect_delay_set(1, 2)
        kept = Properties(PacketTypes.CONNECT)
        kept.SessionExpiryInterval = 86_400
        self._client.connect("127.0.0.1", port, keepalive=10, clean_start=False, properties=kept)
        self._client.loop_start()

    def _take(self, client: object, given: object, message: Any) -> None:
        del client, given
        self.heard.setdefault(message.topic.split("/")[1], []).append(json.loads(message.payload)["number"])

    def close(self) -> None:
        """End it."""
        self._client.disconnect()
        self._client.loop_stop()
