"""A studio whose clocks, probe and disk a test turns by hand, with the real watch, journal and file in it."""

from __future__ import annotations

import json
import resource
from collections.abc import Callable
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from daemon.firing.events import Sample
from daemon.lifecycle.open_firing import Place
from daemon.lifecycle.session import Watch
from daemon.notify.alert_messages import Channel
from daemon.service.inbox import Inbox
from daemon.service.loop import Service
from daemon.settings.config import Config
from daemon.store import firing_list, firings, kilns, plans, readings, requests
from daemon.store.database import create_database, open_database
from daemon.store.write_queue import Journal
from hw.thermocouple import Fault, Reading

EVENING = datetime(2026, 3, 1, 20, 0, 0, tzinfo=UTC)
SLUMP = Path(__file__).with_name("slump.toml").read_text(encoding="utf-8")


class HandClock:
    """A clock that moves only when a test or ``sleep_until`` moves it."""

    speed = 1.0

    def __init__(self):
        self.s = 5000.25
        self.boot_id = "boot-a"
        self.wall = EVENING
        self.is_set = True

    def now_s(self):
        return self.s

    def utc(self):
        return self.wall

    def synchronised(self):
        return self.is_set

    def sleep_until(self, deadline_s):
        self.pass_s(max(0.0, deadline_s - self.s))

    def pass_s(self, seconds):
        self.s += seconds
        self.wall += timedelta(seconds=seconds / self.speed)


class HandProbe:
    """A probe that says what ``says(clock seconds)`` gives: °C, a Fault, or an exception to raise."""

    name = "hand"

    def __init__(self, clock, says):
        self.clock, self.says = clock, says

    def read(self):
        word = self.says(self.clock.now_s())
        if isinstance(word, Exception):
            raise word
        return Reading(None, fault=word) if isinstance(word, Fault) else Reading(word, cold_junction_c=25.0)

    def close(self):
        pass


@dataclass(frozen=True)
class Left:
    """What a daemon leaves that is ended in the middle of a firing."""

    files: dict[str, bytes]
    """The record and its checkpoint, by name."""
    clock_s: float
    wall: datetime


class Studio:
    """One daemon at work; ``stop`` and ``start`` stand for a kill and a restart of it."""

    def __init__(self, folder, clock=None, says=lambda s: 21.0, record=None):
        """Begin in a folder; ``record`` is the file of a database to begin with, where there is none yet."""
        self.folder = folder
        self.path = folder / "lehrling.db"
        if record is not None:
            self.path.write_bytes(record)
        self.clock = clock or HandClock()
        self.says: Callable[[float], object] = says
        self.config = Config(kiln_name="Back room kiln")
        self.on_open: Callable[[object], None] = lambda db: None
        """Called with every connection the journal opens; may raise, or spoil it."""
        self.no_probe = self.no_sounder = None
        """Say that there is no probe, and no sounder; taken at the next start."""
        self.start()

    def start(self, reader=None):
        self.journal = Journal(self._open, reader)
        self.journal.open()
        place = Place(self.config.kiln_name, "hand")
        self.watch = Watch(self.clock, self.journal, place, self.config, self.folder / "checkpoint")
        self.service = Service(
            self.clock, HandProbe(self.clock, lambda s: self.says(s)), self.watch, self.journal,
            Inbox(self.journal), self.config.kiln_name, self.folder, no_probe=self.no_probe,
            no_sounder=self.no_sounder)
        self.watch.adopt()
        self.next_s = self.watch.next_tick_s(self.clock.now_s())

    def _open(self):
        db = create_database(self.path, busy_s=0.01)
        try:
            db.execute("PRAGMA synchronous = OFF")  # these tests cut no power, and run hours in seconds
            self.on_open(db)
        except BaseException:
            db.close()
            raise
        return db

    @classmethod
    def gone_on(cls, folder, left):
        """Return a studio whose daemon starts where another was left; what its probe says has yet to be set."""
        for name, content in left.files.items():
            (folder / name).write_bytes(content)
        clock = HandClock()
        clock.s, clock.wall = left.clock_s, left.wall
        return cls(folder, clock)

    def left(self):
        """Keep a checkpoint, end, and return what another studio goes on from."""
        self.watch.keep_checkpoint()
        self.kill()
        files = {path.name: path.read_bytes() for path in self.folder.iterdir()}
        return Left(files, self.clock.s, self.clock.wall)

    def kill(self):
        """End without a word, as kill -9 does; what is committed is in the file."""
        db = self.journal.database()
        if db is not None:
            db.close()

    def run(self, seconds):
        """Let the daemon work for so many seconds of the firing clock."""
        until_s = self.clock.now_s() + seconds
        while self.next_s <= until_s:
            self.clock.sleep_until(self.next_s)
            self.service.tick(self.next_s)
            self.next_s = self.watch.next_tick_s(self.next_s)

    def miss(self, seconds):
        """Let time pass in which the daemon stands still."""
        self.clock.pass_s(seconds)
        self.next_s = self.watch.next_tick_s(self.clock.now_s())

    def reboot(self, seconds, *, wall=None):
        """Switch the computer off for so long; its clock may come up wrong."""
        self.clock.pass_s(seconds)
        self.clock.s, self.clock.boot_id = 20.5, "boot-b"
        if wall is not None:
            self.clock.wall, self.clock.is_set = wall, False
        self.start()

    def ask(self, kind, ttl_s=60.0, **payload):
        """Put a request as the page does, let the daemon take it, and return its outcome."""
        page = open_database(self.path)
        number = requests.put(page, kind, payload, self.clock.utc(), ttl_s)
        self.run(1.0)
        outcome = requests.request(page, number).outcome
        page.close()
        return outcome

    def start_firing(self, **payload):
        assert self.ask("start", **{"title": "Bowl", "piece_ids": [], "plan_id": None, "glass": "90",
                                    "thickness_mm": 6.0, "faces": 1, **payload}) == "done"
        return self.firing()

    def add_plan(self, toml):
        page = open_database(self.path)
        plan_id = plans.add_plan(page, toml, EVENING)
        page.close()
        return plan_id

    def run_slump(self, plan_id, cooling_c_per_h, past_anneal_s):
        """Start by plan ``plan_id``; let the kiln run SLUMP until so long after its anneal hold, then cool."""
        self.start_firing(plan_id=plan_id)
        self.says = slump_curve(self.firing().start_clock_s, cooling_c_per_h)
        self.run(ANNEAL_ENDS_S + past_anneal_s)

    def see(self, query):
        """Return what ``query(db)`` finds in the file, by a connection of its own."""
        db = open_database(self.path, readonly=True)
        try:
            return query(db)
        finally:
            db.close()

    def firing(self):
        """Return the latest firing."""
        return self.see(lambda db: firing_list.matching(db, 1)[0].firing)

    def present(self):
        return json.loads((self.folder / "present.json").read_text())


@contextmanager
def _folder():
    """Give a folder in memory, where there is one: hours of readings are stored in seconds."""
    memory = Path("/dev/shm")
    with TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
        yield Path(folder)


@contextmanager
def _studio(record=None):
    with _folder() as folder:
        built = Studio(folder, record=record)
        yield built
        built.kill()


@pytest.fixture
def studio(empty_database):
    with _studio(empty_database) as built:
        yield built


class FullDisk:
    """Lets no file of this process grow past 16 kB, so that the file system itself refuses SQLite's writes."""

    LIMIT = 16_384

    def __init__(self):
        self._usual = resource.getrlimit(resource.RLIMIT_FSIZE)

    def begin(self):
        resource.setrlimit(resource.RLIMIT_FSIZE, (self.LIMIT, self._usual[1]))

    def end(self):
        resource.setrlimit(resource.RLIMIT_FSIZE, self._usual)


@pytest.fixture
def full_disk():
    disk = FullDisk()
    yield disk
    disk.end()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item):
    """Lift the limit before pytest writes the test's result, which may go to a file as well."""
    try:
        return (yield)
    finally:
        if "full_disk" in item.funcargs:
            item.funcargs["full_disk"].end()


@pytest.fixture
def slump(studio):
    """Return the id of the plan SLUMP in the studio's file."""
    return studio.add_plan(SLUMP)


@pytest.fixture(scope="module")
def told_studio():
    """Return a studio with one channel, after a slump that cooled too fast; to be looked at only."""
    with _studio() as built:
        built.kill()
        built.config = replace(built.config, channels=(Channel("phone", Path("phone.url")),))
        built.start()
        built.run_slump(built.add_plan(SLUMP), cooling_c_per_h=180.0, past_anneal_s=2400)
        yield built


@pytest.fixture
def left_off(made_once):
    """Return a function (key, run, since): a studio that goes on where ``run(studio)`` left one.

    ``run`` is called once for all workers, with what ``since()`` gives or with an empty studio. Each that goes on
    begins as a daemon does that was ended there and starts again; what its probe says has to be set. ``key`` has to
    tell by its repr all that it depends on.
    """
    with ExitStack() as stack:

        def begin(left=None):
            folder = stack.enter_context(_folder())
            built = Studio(folder) if left is None else Studio.gone_on(folder, left)
            stack.callback(built.kill)
            return built

        def go_on(key, run, since=begin):
            def leave():
                built = since()
                run(built)
                return built.left()

            return begin(made_once(("left off", key), leave))

        yield go_on


@pytest.fixture
def slumped(left_off):
    """Return a function: (studio, SLUMP's id) so long after the anneal of a slump that cools as fast as asked.

    All that went by the plan go on from one run, and all that went by none from another. It was left BEFORE_S before
    the end of the anneal: until there it makes no difference how fast the kiln will cool.
    """

    def run(*, cooling_c_per_h=180.0, past_anneal_s=2400.0, is_planned=True):
        def to_the_anneal(built):
            slump = built.add_plan(SLUMP)
            built.run_slump(slump if is_planned else None, cooling_c_per_h, -BEFORE_S)

        def cool(built):
            built.says = slump_curve(built.firing().start_clock_s, cooling_c_per_h)
            built.run(BEFORE_S + past_anneal_s)

        studio = left_off(("cooled", is_planned, cooling_c_per_h, past_anneal_s), cool,
                          since=lambda: left_off(("slump", is_planned), to_the_anneal))
        studio.says = slump_curve(studio.firing().start_clock_s, cooling_c_per_h)
        return studio, studio.see(plans.plans)[0].plan_id

    return run


def slump_curve(began_s, cooling_c_per_h):
    """Return a kiln that runs SLUMP from 21 °C at ``began_s`` of the clock and cools as fast as asked."""
    parts = [(CLIMB_S, 21.0, 400.0), (600.0, 640.0, 0.0), (FALL_S, 640.0, -600.0), (1800.0, 516.0, 0.0),
             ((516 - 40) / cooling_c_per_h * 3600, 516.0, -cooling_c_per_h)]

    def says(clock_s):
        t = clock_s - began_s
        for length_s, start_c, rate in parts:
            if t < length_s:
                return start_c + rate * max(0.0, t) / 3600
            t -= length_s
        return 40.0
    return says


CLIMB_S = (640 - 21) / 400 * 3600
FALL_S = (640 - 516) / 600 * 3600
ANNEAL_ENDS_S = CLIMB_S + 600 + FALL_S + 1800
BEFORE_S = 660.0


@pytest.fixture
def db(tmp_path, empty_database):
    path = tmp_path / "lehrling.db"
    path.write_bytes(empty_database)
    database = create_database(path)
    yield database
    database.close()


@pytest.fixture
def open_one(db):
    """Return a function that opens a firing on one kiln, with any column given."""
    kiln = kilns.kiln_id(db, "Back room kiln")
    probe = kilns.probe_id(db, kiln, "bench", "K")

    def _open(**given):
        row = {"kiln_id": kiln, "probe_id": probe, "title": "Bowl", "opened_by": "maker",
               "started_utc": EVENING, "boot_id": "boot-a", "clock_s": 100.0, **given}
        return firings.open_firing(db, **row)

    return _open


@pytest.fixture
def record(tmp_path, made_once):
    """Return the path of a record with one open firing of 20,000 readings, which nobody has open."""
    path = tmp_path / "lehrling.db"
    path.write_bytes(made_once("a record of 20,000 readings", _long_record))
    return path


def _long_record():
    """Make that record once; return its file."""
    with TemporaryDirectory() as folder:
        path = Path(folder, "lehrling.db")
        db = create_database(path)
        kiln = kilns.kiln_id(db, "Kiln")
        firing_id = firings.open_firing(
            db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "hand", "K"), title="Bowl", opened_by="maker",
            started_utc=EVENING, boot_id="a", clock_s=0.0)
        readings.append(db, firing_id, [Sample(5.0 * i, 500.0 + i / 128) for i in range(20_000)])
        db.close()
        return path.read_bytes()
