"""What every probe keeps to: the real driver on the stand-in chip, the bench and a recorded trace."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from daemon.acquisition.recorded import open_probe as open_recorded
from daemon.fields import Fields
from hw.bus import Bus
from hw.max31856 import Max31856
from hw.thermocouple import Fault, Reading, Thermocouple
from simulations.bench import open_probe as open_bench
from simulations.plant.chip import Absent, Chip, Terminals
from simulations.plant.thermocouple import emf_mv

TROUBLE_S = 600.0
"""From here on every source has its trouble."""
TROUBLES = [Fault.OPEN, Fault.SHORT, Fault.SILENT]


@dataclass
class Source:
    """A probe whose trouble begins at TROUBLE_S, on a clock turned by hand."""

    name: str
    trouble: Fault
    folder: Path
    now_s: float = 0.0
    slept_s: float = 0.0
    probe: Thermocouple = field(init=False)

    def __post_init__(self) -> None:
        self.probe = OPENERS[self.name](self)

    def time(self) -> float:
        return self.now_s

    def sleep(self, duration_s: float) -> None:
        self.now_s += duration_s
        self.slept_s += duration_s

    def at(self, t_s: float) -> Reading:
        self.now_s = max(self.now_s, t_s)
        self.slept_s = 0.0
        return self.probe.read()

    @property
    def in_trouble(self) -> bool:
        return self.now_s >= TROUBLE_S


def _chip(source: Source) -> Thermocouple:
    def terminals() -> Terminals:
        hot_c = 20.0 + source.now_s / 12  # 300 °C/h
        mv = emf_mv("K", hot_c) - emf_mv("K", 24.0)
        is_open = source.in_trouble and source.trouble is Fault.OPEN
        return Terminals(None if is_open else mv, 24.0, source.in_trouble and source.trouble is Fault.SHORT)

    chip = Chip(terminals, source.time)

    def transfer(sent: bytes) -> bytes:
        chip.absent = Absent.ONES if source.in_trouble and source.trouble is Fault.SILENT else None
        return chip.transfer(sent)

    return Max31856(Bus(transfer), now_s=source.time, sleep=source.sleep)


def _bench(source: Source) -> Thermocouple:
    fault = f"{source.trouble.value}@{TROUBLE_S:.0f}s"
    return open_bench(Fields({"faults": [fault], "start_s": 0, "seed": 4}, "[probe] "), source.time)


def _recorded(source: Source) -> Thermocouple:
    rows = [
        f"{t},{20 + t / 12:.3f}," if t < TROUBLE_S else f"{t},,{source.trouble.value}" for t in range(0, 1200, 5)
    ]
    path = source.folder / "trace.csv"
    path.write_text("\n".join(["seconds,celsius,fault", *rows]) + "\n", encoding="utf-8")
    return open_recorded(Fields({"trace": str(path)}, "[probe] "), source.time)


OPENERS: dict[str, Callable[[Source], Thermocouple]] = {"max31856": _chip, "bench": _bench, "recorded": _recorded}


@pytest.fixture(params=list(OPENERS))
def kind(request: pytest.FixtureRequest) -> str:
    return request.param


@pytest.fixture(params=TROUBLES, ids=lambda fault: fault.value)
def source(request: pytest.FixtureRequest, kind: str, tmp_path: Path) -> Source:
    return Source(kind, request.param, tmp_path)


def test_it_is_a_thermocouple_with_its_own_short_name(source):
    assert isinstance(source.probe, Thermocouple)
    assert source.probe.name == source.name


def test_a_good_probe_gives_a_temperature_without_a_fault(source):
    for t_s in range(0, 300, 10):
        reading = source.at(t_s)
        assert reading.fault is None
        assert 5.0 < reading.temp_c < 60.0


def test_a_cold_junction_where_there_is_one_is_a_room(source):
    cold = source.at(0.0).cold_junction_c
    assert cold is None if source.name == "recorded" else 10.0 < cold < 45.0


def test_readings_follow_the_clock(source):
    began, later = source.at(5.0).temp_c, source.at(590.0).temp_c
    assert later - began > 20.0


def test_trouble_is_its_fault_and_never_a_number(source):
    source.at(TROUBLE_S - 10.0)
    source.at(TROUBLE_S + 5.0)  # the bench's trouble takes hold within a step of its plant
    for t_s in range(610, 640):
        reading = source.at(t_s)
        assert (reading.temp_c, reading.fault) == (None, source.trouble)
        assert reading.detail, "the log is told what was seen"


def test_a_look_is_bounded_in_good_days_and_bad(source):
    for t_s in (0.0, 590.0, 606.0, 608.0):
        source.at(t_s)
        assert source.slept_s < 1.5


def test_two_looks_at_one_second_are_both_readings(source):
    for reading in (source.at(100.0), source.at(100.0)):
        assert reading.fault is None


def test_a_jump_of_the_clock_is_survived(source):
    source.at(0.0)
    assert source.at(500.0).temp_c is not None


def test_closing_twice_does_no_harm(source):
    source.at(0.0)
    source.probe.close()
    source.probe.close()
