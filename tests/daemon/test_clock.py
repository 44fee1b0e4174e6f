from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest

from daemon.clock import BenchClock, Sources, SystemClock, open_bench_clock, system_sources


@dataclass
class World:
    """A machine whose clocks a test turns by hand."""

    boottime_s: float = 1000.0
    utc: datetime = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)
    boot_id: str = "boot-a"
    state: int = 0
    naps: list[float] = field(default_factory=list)
    oversleep_s: float = 0.0
    chip_off_s: float | None = None
    """How far the clock chip is ahead of the wall clock [s]; None where there is no chip."""
    chip_asked: int = 0

    def chip_s(self) -> float | None:
        self.chip_asked += 1
        return None if self.chip_off_s is None else self.utc.timestamp() + self.chip_off_s

    def sleep(self, seconds: float) -> None:
        self.naps.append(seconds)
        self.pass_s(seconds + self.oversleep_s)

    def pass_s(self, seconds: float) -> None:
        self.boottime_s += seconds
        self.utc += timedelta(seconds=seconds)

    def sources(self) -> Sources:
        return Sources(lambda: self.boottime_s, lambda: self.utc, self.sleep, lambda: self.boot_id,
                       lambda: self.state, self.chip_s)


def test_a_system_clock_sleeps_to_an_absolute_deadline_so_lateness_does_not_add_up():
    world = World(oversleep_s=0.25)
    clock = SystemClock(world.sources())
    for tick in range(1, 11):
        clock.sleep_until(1000.0 + tick)
    assert world.boottime_s == pytest.approx(1010.25)


def test_a_deadline_that_has_passed_is_not_slept_for():
    world = World()
    SystemClock(world.sources()).sleep_until(999.0)
    assert world.naps == []


def test_a_step_of_wall_time_does_not_touch_the_firing_clock():
    world = World()
    clock = SystemClock(world.sources())
    before = clock.now_s()
    world.utc -= timedelta(hours=1)
    assert clock.now_s() == before
    assert clock.utc() == datetime(2026, 1, 2, 2, 4, 5, tzinfo=UTC)


@pytest.mark.parametrize(("state", "said"), [(0, True), (4, True), (5, False), (-1, False)])
def test_synchronised_follows_the_states_of_adjtimex(state, said):
    # adjtimex(2): 0 TIME_OK to 4 TIME_WAIT are a set clock, 5 TIME_ERROR is not, -1 is a failed call.
    assert SystemClock(World(state=state).sources()).synchronised() is said


@pytest.mark.parametrize(("chip_off_s", "year", "said"), [
    (None, 2026, False), (0.4, 2026, True), (-59.0, 2026, True), (61.0, 2026, False), (0.0, 1970, False)])
def test_a_clock_chip_that_agrees_counts_as_a_clock_that_is_set(chip_off_s, year, said):
    # The kernel's own flag tells of the network only. A chip without a battery comes up in 1970, and so the clock.
    world = World(state=5, chip_off_s=chip_off_s, utc=datetime(year, 3, 1, tzinfo=UTC))
    assert SystemClock(world.sources()).synchronised() is said


def test_the_chip_is_asked_seldom_and_not_while_the_network_sets_the_clock():
    world = World(state=5, chip_off_s=0.0)
    clock = SystemClock(world.sources())
    for _ in range(100):
        assert clock.synchronised()
        world.pass_s(5)
    assert world.chip_asked == 9  # at 0, 60, … 480 s
    world.state = 0
    world.pass_s(600)
    assert clock.synchronised()
    assert world.chip_asked == 9


def test_the_machine_answers_all_that_is_asked():
    sources = system_sources()
    clock = SystemClock(sources)
    assert clock.now_s() > 0
    assert len(clock.boot_id) == 36
    assert clock.utc().tzinfo is UTC
    assert sources.adjtimex() in range(6)


def test_a_bench_clock_never_skips_however_slow_the_machine_is():
    world = World()
    clock = BenchClock(1000.0, 300.0, sources=world.sources())
    seen = []
    for tick in range(1, 6):
        world.pass_s(10)  # wall seconds of work, thousands of firing seconds
        clock.sleep_until(float(tick))
        seen.append(clock.now_s())
    assert seen == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert world.naps == []


def test_a_bench_clock_ahead_of_the_wall_waits():
    world = World()
    clock = BenchClock(1000.0, 300.0, sources=world.sources())
    clock.sleep_until(600.0)
    assert world.boottime_s == pytest.approx(1002.0)  # 600 firing seconds at 300 a wall second
    assert clock.now_s() == 600.0


def test_a_bench_clock_goes_on_while_the_process_is_dead(tmp_path):
    world = World()
    first = open_bench_clock(tmp_path / "bench.json", 300.0, world.sources())
    assert first.now_s() == 0.0
    world.pass_s(4)
    second = open_bench_clock(tmp_path / "bench.json", 300.0, world.sources())
    assert second.now_s() == pytest.approx(1200.0)
    assert second.boot_id == first.boot_id


def test_a_bench_clock_goes_on_by_wall_time_over_a_reboot(tmp_path):
    world = World()
    open_bench_clock(tmp_path / "bench.json", 10.0, world.sources())
    world.pass_s(60)
    world.boottime_s, world.boot_id = 3.0, "boot-b"
    assert open_bench_clock(tmp_path / "bench.json", 10.0, world.sources()).now_s() == pytest.approx(600.0)


def test_another_speed_goes_on_from_the_second_reached(tmp_path):
    world = World()
    open_bench_clock(tmp_path / "bench.json", 100.0, world.sources())
    world.pass_s(10)
    slower = open_bench_clock(tmp_path / "bench.json", 2.0, world.sources())
    assert slower.now_s() == pytest.approx(1000.0)
    world.pass_s(10)
    assert open_bench_clock(tmp_path / "bench.json", 2.0, world.sources()).now_s() == pytest.approx(1020.0)


@pytest.mark.parametrize("torn", ["", "{", "[]", json.dumps({"epoch_s": "x"})])
def test_a_torn_epoch_begins_the_bench_anew(tmp_path, torn):
    (tmp_path / "bench.json").write_text(torn)
    assert open_bench_clock(tmp_path / "bench.json", 10.0, World().sources()).now_s() == 0.0
