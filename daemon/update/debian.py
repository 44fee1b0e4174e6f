"""The package tools, record and services of this computer, as an update needs them. It runs as root.

Everything that touches the record is done in a child that has become the folder's owner: what root leaves beside a
database, the services could not write.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from daemon.clock import SystemClock
from daemon.errors import BadInput
from daemon.notify.trouble import Ailing
from daemon.service.state_reader import read_daemon_state
from daemon.store.database import FILE_NAME, open_database, unknown_steps
from daemon.store.safety.copies import make_copy
from daemon.store.safety.exchange import put_in_place, set_aside
from daemon.update.steps import Kiln, NotInstalled, Package

NAME = "lehrling"
CACHE = Path("/var/cache/lehrling")
INFO = Path("/var/lib/dpkg/info")
_CONTROL = ("preinst", "postinst", "prerm", "postrm", "templates", "md5sums")
KEPT = 2
"""So many packages to go back to are kept. [chosen: the last one and the one before]"""
FALLS = 3
"""A daemon that fell so often does not watch. [chosen: one fall may be a passing trouble of the disk]"""
LONGEST_S = 1800.0
"""No call of a package tool takes longer [s]. [chosen: a slow card]"""
_SERVICES = ("lehrling-deliver", "lehrling-web", "lehrling-daemon")


class Debian:
    """A computer whose packages dpkg and apt keep.

    Parameters
    ----------
    data, run
        The data folder and the run folder of the services; those of further kilns are beside them.
    """

    def __init__(self, data: Path, run: Path) -> None:
        self._data, self._run = data, run
        self._clock = SystemClock()
        self._further_copies: dict[Path, Path] = {}

    def now_s(self) -> float:
        """Return wall time [s]."""
        return self._clock.utc().timestamp()

    def wait(self, seconds: float) -> None:
        """Wait."""
        time.sleep(seconds)

    def package(self, file: Path) -> Package:
        """Return what a package file says of itself, once it was read through and apt would take it."""
        if file.is_dir():
            raise BadInput(str(file), "is a folder.", "Name the package in it, such as ./lehrling_0.2.0_arm64.deb.")
        if not file.is_file():
            raise BadInput(str(file), "no such file.", "Name the package, such as ./lehrling_0.2.0_arm64.deb.")
        try:
            said = _fields(_call("dpkg-deb", "--field", str(file), "Package", "Version", "Architecture"))
            _call("dpkg-deb", "--fsys-tarfile", str(file), drop=True)
            found = Package(said["Package"], said["Version"], said["Architecture"])
        except (NotInstalled, KeyError) as err:
            raise BadInput(str(file), f"this is no whole package: {err}.", "Fetch or copy it again.") from None
        if found.name == NAME and found.architecture in (self.installed().architecture, "all"):
            try:
                _call("apt-get", "install", "--simulate", "--allow-downgrades", "-qq", str(file.resolve()))
            except NotInstalled as err:
                raise BadInput(str(file), f"apt would not install it: {err}.",
                               "Is it for this release of Debian?") from None
        return found

    def installed(self) -> Package:
        """Return the package that is installed."""
        try:
            words = _call("dpkg-query", "--show", "--showformat=${Version} ${Architecture} ${db:Status-Status}", NAME)
            version, architecture, status = words.split()
        except (NotInstalled, ValueError):
            status = version = architecture = ""
        if status != "installed":
            raise BadInput("lehrling update", "Lehrling was not installed by its package here.",
                           "Install it first: sudo apt install ./lehrling_….deb (docs/install.md).")
        return Package(NAME, version, architecture)

    def kiln(self) -> Kiln | None:
        """Return what the daemon says, where it was said just now and there is a probe to watch."""
        return self._kiln(self._run)

    def further_kilns(self) -> list[Kiln]:
        """Return what the daemons of further kilns say, of those that are heard and have a probe to watch."""
        found = (self._kiln(self._run.with_name(folder.name.replace(self._data.name, self._run.name, 1)))
                 for folder in self._further())
        return [kiln for kiln in found if kiln is not None]

    def _further(self) -> list[Path]:
        """Return the data folders of further kilns that have a record (``lehrling kiln add``)."""
        return [folder for folder in sorted(self._data.parent.glob(f"{self._data.name}-*"))
                if (folder / FILE_NAME).is_file()]

    def _kiln(self, run: Path) -> Kiln | None:
        state = read_daemon_state(run, self._clock.utc())
        if state is None or state.stale or any(trouble.ailing is Ailing.PROBE for trouble in state.troubles):
            return None
        return Kiln(state.number("temp_c"), state.number("t_s") is not None, state.written_utc.timestamp())

    def daemon_falls(self) -> bool:
        """Return whether systemd has had to start the daemon again FALLS times since it was asked to start it."""
        try:
            return int(_call("systemctl", "show", "--value", "--property=NRestarts", _SERVICES[-1])) >= FALLS
        except (NotInstalled, ValueError):
            return False

    def copy_record(self) -> Path | None:
        """Copy the records of all kilns and check the copies; return that of the first kiln."""
        for folder in self._further():
            self._further_copies[folder] = self._copied(folder)
        return self._copied(self._data) if (self._data / FILE_NAME).exists() else None

    def _copied(self, folder: Path) -> Path:
        return Path(as_owner(folder, lambda: str(make_copy(folder / FILE_NAME, self._clock.utc()))))

    def keep_installed(self) -> Path:
        """Make a package of the files that are installed, as they are."""
        found = self.installed()
        verified = subprocess.run(["dpkg", "--verify", NAME], capture_output=True, text=True, timeout=LONGEST_S,
                                  check=False)
        if changed := verified.stdout.strip():
            raise BadInput("lehrling update", f"files of the package were changed by hand: {changed[:300]}",
                           "Install the present version again first: sudo apt install --reinstall ./lehrling_….deb")
        CACHE.mkdir(mode=0o755, parents=True, exist_ok=True)
        kept = CACHE / f"{NAME}_{found.version}_{found.architecture}.deb"
        try:
            with tempfile.TemporaryDirectory(dir=CACHE) as folder:
                _lay_out(Path(folder))
                _call("dpkg-deb", "--root-owner-group", "-Zzstd", "-z1", "--build", folder, f"{kept}.part")
            os.replace(f"{kept}.part", kept)
        except (NotInstalled, OSError) as err:
            raise BadInput("lehrling update", f"the present version can't be kept: {err}.",
                           "Make room on the disk; without it there would be no way back.") from None
        older = sorted(CACHE.glob(f"{NAME}_*.deb"), key=lambda path: path.stat().st_mtime)
        for path in older[:-KEPT]:
            path.unlink()
        return kept

    def install(self, file: Path) -> None:
        """Install a package and start the services."""
        _call("apt-get", "install", "-y", "-q", "--allow-downgrades", str(file.resolve()))

    def record_is_newer(self) -> bool:
        """Return whether this process, of the version installed first, does not know the tables of some record."""
        return any(_is_newer_in(folder) for folder in (self._data, *self._further_copies))

    def put_back(self, copy: Path) -> Path:
        """Stop the services, set each record that is newer aside and put its copy in its place."""
        _call("systemctl", "stop", *_SERVICES, *(["lehrling-*@*.service"] if self._further_copies else []))
        for folder, of_it in self._further_copies.items():
            if _is_newer_in(folder):
                self._exchanged(folder, of_it)
        return self._exchanged(self._data, copy)

    def _exchanged(self, folder: Path, copy: Path) -> Path:
        record = folder / FILE_NAME
        return record.with_name(as_owner(folder, lambda: _exchange(record, self._clock.utc(), copy)))


def _fields(text: str) -> dict[str, str]:
    """Return the fields of a control file."""
    return dict(line.split(": ", 1) for line in text.splitlines() if ": " in line)


def _is_newer_in(folder: Path) -> bool:
    """Return whether this version does not know the tables of the record in a folder."""
    record = folder / FILE_NAME
    return record.exists() and as_owner(folder, lambda: "yes" if _is_newer(record) else "no") == "yes"


def _is_newer(record: Path) -> bool:
    db = open_database(record, readonly=True)
    try:
        return bool(unknown_steps(db))
    finally:
        db.close()


def _exchange(record: Path, utc: datetime, copy: Path) -> str:
    """Set a record aside and put a copy in its place; return the name of what was set aside."""
    aside = set_aside(record, utc, "of-the-newer-version")
    put_in_place(copy, record)
    return aside.name


def _lay_out(folder: Path) -> None:
    """Copy the files of the installed package, and what dpkg knows of it, as dpkg-deb wants them."""
    control = folder / "DEBIAN"
    control.mkdir()
    folder.chmod(0o755)
    status = _call("dpkg-query", "--status", NAME)
    (control / "control").write_text(
        "".join(line + "\n" for line in status.splitlines() if not line.startswith("Status:")), encoding="utf-8")
    for name in _CONTROL:
        shutil.copy2(INFO / f"{NAME}.{name}", control / name)
    for line in _call("dpkg-query", "--listfiles", NAME).splitlines():
        source = Path(line)
        target = folder / line.lstrip("/")
        if source.is_symlink() or source.is_file():
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(source, target, follow_symlinks=False)


def _call(*words: str, drop: bool = False) -> str:
    """Return what a command prints; NotInstalled with its last words where it fails."""
    try:
        ran = subprocess.run(words, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL if drop else subprocess.PIPE,
                             stderr=subprocess.PIPE, text=True, errors="replace", timeout=LONGEST_S, check=False,
                             env={**os.environ, "DEBIAN_FRONTEND": "noninteractive", "LC_ALL": "C.UTF-8"})
    except (OSError, subprocess.TimeoutExpired) as err:
        raise NotInstalled(f"{words[0]}: {err}") from None
    if ran.returncode != 0:
        raise NotInstalled(f"{words[0]}: {' '.join((ran.stderr or '').split())[-300:] or f'exit {ran.returncode}'}")
    return ran.stdout or ""


def as_owner(folder: Path, work: Callable[[], str]) -> str:
    """Do something in a child that has become the folder's owner; return what it returns.

    Raises
    ------
    BadInput
        With the child's words where it fails.
    """
    owner = folder.stat()
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            if os.geteuid() != owner.st_uid:
                os.setgroups([])
                os.setgid(owner.st_gid)
                os.setuid(owner.st_uid)
            os.umask(0o027)
            said = "+" + work()
        except Exception as err:
            said = f"-{err}"
        os.write(write, said.encode()[:4000])
        os._exit(0)
    os.close(write)
    with open(read, "rb") as answer:
        heard = answer.read().decode()
    os.waitpid(child, 0)
    if not heard.startswith("+"):
        raise BadInput(str(folder), heard[1:] or "the work on the record ended early.", "Look at the disk.")
    return heard[1:]
