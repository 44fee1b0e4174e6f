"""A PostgreSQL of one's own in a folder: real, on loopback, thrown away afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
from pathlib import Path

from daemon.clock import SystemClock

START_S = 30.0
"""How long it may take to answer [s]. [chosen: it takes one; far more on a busy computer]"""
USER, PASSWORD = "lehrling", "invented for a test"


def programs() -> Path | None:
    """Return the folder of PostgreSQL's programs, of the newest version; None where it is not installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    return found[-1].parent if found else None


class Cluster:
    """A server with a folder of its own.

    Parameters
    ----------
    folder
        An empty one, where its user may get to.
    lasting
        Whether each commit goes to the disk, as a real one does; without it a test is quicker.
    """

    def __init__(self, folder: Path, *, lasting: bool = False) -> None:
        found = programs()
        assert found is not None, "PostgreSQL is not installed"
        self._bin, self._folder, self._lasting = found, folder, lasting
        self._process: subprocess.Popen[bytes] | None = None
        self.port = _free_port()
        folder.mkdir(parents=True, exist_ok=True)
        password = folder / "password"
        password.write_text(PASSWORD)
        if os.geteuid() == 0:  # it refuses to run as root
            owner = pwd.getpwnam("postgres")
            for path in (folder, password):
                os.chown(path, owner.pw_uid, owner.pw_gid)
        self._as_owner("initdb", "-D", f"{folder}/data", "-U", USER, "--pwfile", str(password), "--no-sync",
                       "--auth=scram-sha-256", "--locale=C.UTF-8", "--encoding=UTF8")
        self.start()

    def address(self, database: str) -> str:
        """Return how a database is reached, without the password."""
        return f"host=127.0.0.1 port={self.port} user={USER} dbname={database}"

    def start(self) -> None:
        """Start it, and wait until it answers."""
        arguments = ["-D", f"{self._folder}/data", "-p", str(self.port), "-k", str(self._folder),
                     "-c", "listen_addresses=127.0.0.1", "-c", "max_connections=60"]
        if not self._lasting:
            arguments += ["-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off"]
        with (self._folder / "log").open("ab") as log:
            self._process = subprocess.Popen(self._command("postgres", *arguments), stdin=subprocess.DEVNULL,
                                             stdout=log, stderr=log, cwd="/")
        clock = SystemClock()
        ends = clock.now_s() + START_S
        while subprocess.run([self._bin / "pg_isready", "-q", "-h", "127.0.0.1", "-p", str(self.port)],
                             check=False).returncode:
            if self._process.poll() is not None or clock.now_s() > ends:
                raise RuntimeError((self._folder / "log").read_text(errors="replace"))
            clock.sleep_until(clock.now_s() + 0.05)

    def stop(self, *, at_once: bool = False) -> None:
        """End it by its number; ``at_once`` as if the power failed."""
        if self._process is not None:
            self._process.send_signal(3 if at_once else 2)  # SIGQUIT is an immediate shutdown, SIGINT a fast one
            self._process.wait(START_S)
            self._process = None

    def remove(self) -> None:
        """End it, and remove its folder."""
        self.stop()
        shutil.rmtree(self._folder, ignore_errors=True)

    def _as_owner(self, program: str, *arguments: str) -> None:
        subprocess.run(self._command(program, *arguments), check=True, capture_output=True, cwd="/", timeout=120)

    def _command(self, program: str, *arguments: str) -> list[str]:
        other = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"] if os.geteuid() == 0 else []
        return [*other, str(self._bin / program), *arguments]


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])
