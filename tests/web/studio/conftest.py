"""A box's page on loopback, and a PostgreSQL of one's own that collects from it."""

from __future__ import annotations

import itertools
import os
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest
from werkzeug.serving import make_server

from benchmarks.studio.cluster import PASSWORD
from daemon.studio.collecting import Collector
from daemon.studio.settings import Studio as ServerSettings
from daemon.studio.settings import read_studio
from web.security import passcode, studio_token

NUMBERS = itertools.count(1)


class Box:
    """The page of a box, served on loopback; it can go away and come back at the same address."""

    def __init__(self, studio: Any, *, on: bool = True) -> None:
        self.studio = studio
        self.app = studio.app(studio=on, open_house=False, open_reading=True)
        self.port = 0
        self.start()

    def start(self) -> None:
        self._server = make_server("127.0.0.1", self.port, self.app, threaded=True)
        self.port = self._server.port
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.01})
        self._thread.start()

    def stop(self) -> None:
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def token(self) -> str:
        folder = self.studio.folder
        return studio_token.token(passcode.page_key(folder), passcode.fingerprint(folder / "passcode"))


class Server:
    """The studio's server: settings in a folder, a database of its own, and its collector."""

    def __init__(self, folder: Path, cluster: Any, clock: Any) -> None:
        self.folder, self.cluster, self.clock = folder, cluster, clock
        self.database = f"test_{os.getpid()}_{next(NUMBERS)}"
        with psycopg.connect(cluster.address("postgres"), password=PASSWORD, autocommit=True) as db:
            db.execute(f"CREATE DATABASE {self.database}")
        self._write(folder / "database.password", PASSWORD)
        self.collector: Collector | None = None

    def _write(self, path: Path, text: str) -> None:
        path.write_text(text)
        path.chmod(0o600)

    def settings(self, *boxes: Box, **others: str) -> ServerSettings:
        lines = [f'database = "{self.cluster.address(self.database)}"', 'password_file = "database.password"',
                 'time_zone = "Europe/Berlin"', *(f"{key} = {value}" for key, value in others.items())]
        for number, box in enumerate(boxes, start=1):
            self._write(self.folder / f"kiln-{number}.token", box.token)
            lines += ["[[box]]", f'name = "kiln-{number}"', f'address = "{box.address}"',
                      f'token_file = "kiln-{number}.token"']
        (self.folder / "studio.toml").write_text("\n".join(lines))
        return read_studio(self.folder / "studio.toml")

    def collect(self, *boxes: Box, rounds: int = 1) -> None:
        if self.collector is None:
            self.settings_now = self.settings(*boxes)
            self.collector = Collector(self.settings_now, self.clock)
        for _ in range(rounds):
            self.collector.round()

    def ask(self, query: str, *values: Any) -> list[tuple[Any, ...]]:
        with psycopg.connect(self.cluster.address(self.database), password=PASSWORD) as db:
            return db.execute(query, values or None).fetchall()

    def write(self, query: str) -> None:
        with psycopg.connect(self.cluster.address(self.database), password=PASSWORD) as db:
            db.execute(query)

    def verified(self) -> list[Any]:
        from daemon.studio.verifying import verify

        with psycopg.connect(self.cluster.address(self.database), password=PASSWORD, autocommit=True) as db:
            return list(verify(db))

    def close(self) -> None:
        if self.collector is not None:
            self.collector.close()


@pytest.fixture
def server(tmp_path_factory: pytest.TempPathFactory, cluster: Any, studio: Any) -> Iterator[Server]:
    made = Server(tmp_path_factory.mktemp("server"), cluster, studio.clock)
    yield made
    made.close()


@pytest.fixture
def serve() -> Iterator[Callable[..., Box]]:
    boxes: list[Box] = []

    def start(studio: Any, *, on: bool = True) -> Box:
        boxes.append(Box(studio, on=on))
        return boxes[-1]

    yield start
    for box in boxes:
        box.stop()


