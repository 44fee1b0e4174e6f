"""What holds for every test, and firings simulated once for all that look at them."""

from __future__ import annotations

import gc
import os
import pickle
import sys
import tempfile
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from fcntl import LOCK_EX, flock
from functools import cache
from hashlib import sha256
from pathlib import Path
from socket import AF_UNIX, SOCK_DGRAM, socket
from tempfile import TemporaryDirectory
from time import sleep
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, settings

from benchmarks.studio.cluster import Cluster, programs
from daemon.firing.events import Alert, Rank, Sample
from daemon.firing.plan.plan import Plan, parse_plan
from daemon.firing.report import Report, judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from daemon.store.database import create_database
from simulations.firing import Truth, read_faults, simulate

# Correctness only: how long an example takes, or to be made, says something of the machine and nothing of us.
# The suite draws the same examples each time; `pytest -m hypothesis --hypothesis-profile=explore` draws fresh ones.
_UNHURRIED = settings(deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("same", _UNHURRIED, derandomize=True)
settings.register_profile("explore", _UNHURRIED, print_blob=True)
settings.load_profile("same")

# A container may forbid Python to keep what it compiled. Here each worker and each process that a test starts would
# compile all of it again: two thirds of the time that a worker takes until its first test.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

MEMORY = Path("/dev/shm")
"""Files that live in memory, where a Linux has them."""
ROOM_BYTES = 4_000_000_000
"""Room for all that the tests of a whole run may leave there."""


def _work_in_memory() -> None:
    """Have the tests' folders in memory, where there is room: each commit of a record waits for a disk, here 5 ms.

    Some tests start programs that they write, which not every memory allows.
    """
    if {"PYTEST_DEBUG_TEMPROOT", "TMPDIR"} & os.environ.keys() or not os.access(MEMORY, os.W_OK):
        return
    found = os.statvfs(MEMORY)
    if found.f_bavail * found.f_frsize >= ROOM_BYTES and not found.f_flag & os.ST_NOEXEC:
        os.environ["PYTEST_DEBUG_TEMPROOT"] = os.environ["TMPDIR"] = str(MEMORY)


_work_in_memory()

TESTS = Path(__file__).parent
WORKER = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
WORKERS = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
NOT_QUICK = (
    # a real Chromium
    "browser/",
    # whole firings, simulated and judged
    "scenarios/", "simulations/studies/", "simulations/studio/", "simulations/test_firing.py",
    "daemon/firing/test_invariance.py",
    "daemon/firing/verdict/test_cooldown_forecast.py",
    # hours of a kiln of the bench
    "simulations/plant/test_mishaps.py", "simulations/plant/test_kiln.py", "simulations/test_bench.py",
    # a hundred slabs, each at every point of its plan
    "daemon/firing/advice/test_plan_check.py", "test_same_figures.py",
    # hours of a daemon at work, second by second
    "daemon/service/test_maintenance.py", "daemon/lifecycle/test_restart.py",
    "daemon/lifecycle/test_storage_trouble.py",
    # other processes
    "simulations/commands/", "daemon/delivery/test_process.py", "daemon/test_cli.py", "systemd/",
    "daemon/commands/test_daemon.py", "web/test_command.py", "web/test_self_check.py",
    "web/pieces/test_reencoding_process.py", "web/pieces/test_photographs.py",
    "web/firings/handouts/test_firing_copy.py", "web/firings/handouts/test_card.py", "packaging/test_deb.py",
    # a real broker, a memory-hard hash at each sign-in, independent solutions of the slab
    "daemon/delivery/test_sign_of_life.py", "web/security/test_access.py",
    "daemon/glass/test_reference.py", "daemon/glass/test_properties.py",
    # many pages of a filled studio
    "web/compare/test_page.py", "web/kiln/test_notifications.py", "web/firings/test_listing.py",
    # every page, or every form of it
    "web/test_crawl.py", "web/test_every_page.py", "web/test_fuzz.py",
)
"""Folders and files below tests/ whose tests are not quick: measured, over about a second of processor time a test or
five a file. Nor are tests that ask for one of SLOW_FIXTURES or are marked ``slow``."""
LONGEST_FIRST = (
    "browser/test_evening.py", "browser/test_night.py", "browser/test_screens.py",
    "simulations/commands/test_demo.py", "benchmarks/trials/",
    "scenarios/", "daemon/firing/test_invariance.py", "daemon/lifecycle/", "simulations/", "browser/", "web/test_",
)
"""Folders and files below tests/ that take long, in the order in which they begin: none of them is to be the last."""
SLOW_FIXTURES = {"fired", "slump", "slumped", "left_off", "told_studio", "real_server"}
"""A whole firing, simulated; hours of a daemon at work; the page in a process of its own."""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """Return how many workers ``-n auto`` starts: one more than cores, for what waits for a page or a daemon."""
    del config
    return None if "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ else (os.cpu_count() or 1) + 1


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out what is not quick before it is read, where only what is quick was asked for."""
    is_test = collection_path.name.startswith("test_") and collection_path.suffix == ".py"
    return True if config.getoption("markexpr") == "quick" and is_test and _is_slow(collection_path) else None


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Generator[None, Any, pytest.CollectReport]:
    """Let each worker begin to collect at another file: it finds compiled what the others have passed.

    The garbage collector rests meanwhile. It finds next to nothing, and looks through all the tests each time.
    """
    gc.disable()
    report = yield
    if isinstance(collector, pytest.Dir):
        first = len(report.result) * WORKER // WORKERS
        report.result = [*report.result[first:], *report.result[:first]]
    return report


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put first what takes longest; mark as quick what needs no browser, no whole firing and no other process."""
    items.sort(key=lambda item: _turn(item.path))
    for item in items:
        if not (_is_slow(item.path) or SLOW_FIXTURES.intersection(getattr(item, "fixturenames", ()))
                or item.get_closest_marker("slow")):
            item.add_marker(pytest.mark.quick)


def pytest_collection_finish() -> None:
    """Let the garbage collector work again, but pass over what is there now: the tests, some 300,000 objects.

    It looks about as often as a firing that is judged makes so many objects, and not hundreds of times meanwhile.
    """
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


@cache
def _is_slow(path: Path) -> bool:
    """Return whether a file's tests are named as not quick."""
    return path.relative_to(TESTS).as_posix().startswith(NOT_QUICK)


@cache
def _turn(path: Path) -> tuple[int, tuple[str, ...]]:
    """Return when the turn of a file's tests comes: the same for every worker, wherever it began to collect."""
    below = path.relative_to(TESTS)
    where = below.as_posix()
    turn = next((n for n, name in enumerate(LONGEST_FIRST) if where.startswith(name)), len(LONGEST_FIRST))
    return turn, below.parts if WORKERS > 1 else ()


PLANS = Path(__file__).parents[1] / "examples" / "plans"
OWN_PLANS = {
    # The full fuse of the examples as far as anything can go wrong with it: nobody waits for it to be cold.
    "full-fuse": """title = "Full fuse, until it is past"
unit = "C"
step = [
    { rate = 220, to = 620 }, { rate = 50, to = 670, hold_min = 30, purpose = "squeeze" },
    { rate = 250, to = 800, hold_min = 10, purpose = "top" },
    { rate = "free", to = 516, hold_min = 60, purpose = "anneal" }, { rate = 80, to = 461 }, { rate = 150, to = 406 },
]""",
    # The cooling that the promised delays are measured on.
    "slow-cooling": """title = "Slump, cooled at 55"
unit = "C"
step = [
    { rate = 220, to = 650, hold_min = 15 }, { rate = "free", to = 516, hold_min = 45 }, { rate = 55, to = 400 },
]""",
    # Faster than any kiln of the bench climbs: the controller has to wait.
    "too-fast": """title = "Slump, asked too fast"
unit = "C"
step = [{ rate = 900, to = 640, hold_min = 15 }, { rate = "free", to = 516, hold_min = 45 }, { rate = 80, to = 440 }]
""",
}
ENOUGH_S = 10 * 3600.0
"""Firings of OWN_PLANS end here at the latest, with or without power."""


@cache
def plan_named(name: str) -> Plan:
    """Return one of OWN_PLANS or of the example plans."""
    if name in OWN_PLANS:
        return parse_plan(OWN_PLANS[name], name)
    return parse_plan((PLANS / f"{name}.toml").read_text(encoding="utf-8"), name)


@dataclass(frozen=True)
class Night:
    """A simulated firing, what was judged of it, and what was true."""

    setup: Setup
    samples: list[Sample]
    truth: Truth
    report: Report

    @property
    def wakes(self) -> list[Alert]:
        return [alert for alert in self.report.alerts if alert.rank is Rank.WAKE]

    def alerts(self, kind: str) -> list[Alert]:
        return [alert for alert in self.report.alerts if alert.kind == kind]

    def part(self, step: int, part: str):
        """Return the true part."""
        return next(p for p in self.truth.parts if (p.step, p.part) == (step, part))

    def fault_s(self) -> float:
        """Return when the first thing went wrong [s]."""
        return self.truth.faults[0].at_s


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Callable[[object, Callable[[], object]], Any]:
    """Return a function (key, make): what ``make`` gives, made once for all workers of this run of the tests.

    ``key`` has to tell by its repr all that ``make`` depends on. What is given is shared: look at it only.
    """
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent  # each worker has a folder of its own below the run's
    folder = folder / "made-once"
    folder.mkdir(exist_ok=True)
    here: dict[str, Any] = {}

    def give(key: object, make: Callable[[], object]) -> Any:
        name = sha256(repr(key).encode()).hexdigest()
        if name not in here:
            file = folder / name
            with file.open("a+b") as kept:
                flock(kept, LOCK_EX)  # two that want it at once wait for one that makes it
                if not file.stat().st_size:
                    kept.write(pickle.dumps(make()))
            here[name] = pickle.loads(file.read_bytes())
        return here[name]

    return give


@pytest.fixture(scope="session")
def empty_database(made_once) -> bytes:
    """Return the file of a database with every table and no row: to copy it takes a fortieth of making it."""
    def make() -> bytes:
        with TemporaryDirectory() as folder:
            path = Path(folder, "lehrling.db")
            create_database(path).close()
            return path.read_bytes()

    return made_once("empty database", make)


@pytest.fixture(scope="session")
def fired(made_once) -> Callable[..., Night]:
    """Return a function that fires a plan on the bench and judges it; the same firing is fired once."""

    def fire(name: str, *faults: str, kiln: str = "top-loader", seed: int = 1, thickness_mm: float = 6.0,
             owner_offset_k: float | None = None, **around) -> Night:
        plan = plan_named(name)
        if name in OWN_PLANS:
            around = {"until_c": 330.0, "longest_s": ENOUGH_S} | around
        setup = Setup(plan, FAMILIES["90"], thickness_mm=thickness_mm, offset_k=owner_offset_k, unit=plan.unit)

        def night() -> Night:
            simulated = simulate(plan, kiln=kiln, faults=read_faults(faults, plan), seed=seed, **around)
            return Night(setup, simulated.samples, simulated.truth, judge(setup, simulated.samples))

        return made_once(("fired", setup, kiln, faults, seed, sorted(around.items())), night)

    return fire


class Systemd:
    """The other end of NOTIFY_SOCKET: hears what the services say."""

    def __init__(self, line: socket) -> None:
        self._line = line

    def hears(self, within_s: float = 30.0) -> str | None:
        """Return the next word; None where none comes in time."""
        self._line.settimeout(within_s)
        try:
            return self._line.recv(64).decode()
        except TimeoutError:
            return None

    def hears_at_last(self, word: str) -> bool:
        """Return whether a word comes, whatever is said before it."""
        while (heard := self.hears()) is not None:
            if heard == word:
                return True
        return False

    def hears_no_more(self, for_s: float = 2.0) -> bool:
        """Return whether silence comes, after at most a minute's words."""
        return any(self.hears(within_s=for_s) is None for _ in range(120))

    def forget(self) -> None:
        """Take no notice of what was said so far."""
        self._line.setblocking(False)
        while True:
            try:
                self._line.recv(64)
            except BlockingIOError:
                return


@pytest.fixture
def systemd(monkeypatch: pytest.MonkeyPatch) -> Generator[Systemd]:
    """Return what hears each process that the test starts; it asks for a sign of life every two seconds."""
    name = f"lehrling-test-{uuid4()}"
    with socket(AF_UNIX, SOCK_DGRAM) as line:
        line.bind(f"\0{name}")
        monkeypatch.setenv("NOTIFY_SOCKET", f"@{name}")
        monkeypatch.setenv("WATCHDOG_USEC", "2000000")
        yield Systemd(line)


class Hanging:
    """A file whose readers wait, as on a disk that does not answer, until it is let go."""

    def __init__(self, path: Path) -> None:
        self._path, self._end = path, -1
        os.mkfifo(path)

    def until_read(self) -> None:
        """Return once somebody reads, and waits from now on; at most after half a minute."""
        for _ in range(600):
            try:
                self._end = os.open(self._path, os.O_WRONLY | os.O_NONBLOCK)
                return
            except OSError:
                sleep(0.05)
        raise AssertionError(f"nobody reads {self._path}")

    def let_go(self) -> None:
        """Put an empty file there, and let the readers find nothing."""
        plain = self._path.with_suffix(".plain")
        plain.touch()
        plain.replace(self._path)
        os.close(self._end)


@pytest.fixture
def hanging() -> type[Hanging]:
    """Return what makes a file hang."""
    return Hanging


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    """Give a real PostgreSQL on loopback; skipped where it is not installed, and never in CI."""
    if programs() is None and "CI" not in os.environ:
        pytest.skip("Debian's postgresql is not installed")
    made = Cluster(Path(tempfile.mkdtemp(prefix="lehrling-postgresql-", dir="/tmp")))
    try:
        yield made
    finally:
        made.remove()
