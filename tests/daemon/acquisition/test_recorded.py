from __future__ import annotations

import pytest

from daemon.acquisition.recorded import open_probe
from daemon.errors import BadInput
from daemon.fields import Fields
from hw.thermocouple import Fault, Thermocouple

TRACE = "seconds,celsius,fault\n0,20.0,\n5,21.0,\n10,,open\n15,23.0,\n20,24.0,\n300,90.0,\n305,91.0,\n"


class Now:
    def __init__(self, s=0.0):
        self.s = s

    def __call__(self):
        return self.s


@pytest.fixture
def trace(tmp_path):
    path = tmp_path / "trace.csv"
    path.write_text(TRACE)
    return str(path)


def _at(probe, now, seconds):
    now.s = seconds
    return probe.read()


def test_it_plays_the_rows_by_the_firing_clock_from_its_opening(trace):
    now = Now(1000.0)
    probe = open_probe(Fields({"trace": trace}, "[probe] "), now)
    assert isinstance(probe, Thermocouple)
    assert [_at(probe, now, 1000.0 + t).temp_c for t in (0, 4, 5, 19, 20)] == [20.0, 20.0, 21.0, 23.0, 24.0]
    assert _at(probe, now, 1012.0).fault is Fault.OPEN


def test_gaps_and_the_end_are_silent(trace):
    now = Now()
    probe = open_probe(Fields({"trace": trace}, "[probe] "), now)
    assert _at(probe, now, 24.0).temp_c == 24.0
    assert _at(probe, now, 100.0).fault is Fault.SILENT
    assert _at(probe, now, 306.0).temp_c == 91.0
    assert _at(probe, now, 311.0).fault is Fault.SILENT
    assert _at(probe, now, 1e6).fault is Fault.SILENT


def test_it_can_begin_again_and_at_a_given_second(trace):
    now = Now(100.0)
    probe = open_probe(Fields({"trace": trace, "loop": True, "epoch_s": 0}, "[probe] "), now)
    assert _at(probe, now, 300.0).temp_c == 90.0
    assert _at(probe, now, 310.0 + 5.0).temp_c == 21.0


@pytest.mark.parametrize(("settings", "told"), [
    ({}, "trace: missing"),
    ({"trace": 3}, r"trace: 3 is not text"),
    ({"trace": "none.csv"}, "none.csv: there is no such file"),
    ({"trace": "x", "speed": 2}, r"speed: unknown key\. Known here: trace, loop"),
])
def test_wrong_settings_are_told(settings, told):
    with pytest.raises(BadInput, match=told):
        open_probe(Fields(settings, "[probe] "), Now())


def test_an_empty_trace_is_told(tmp_path):
    (tmp_path / "empty.csv").write_text("seconds,celsius,fault\n")
    with pytest.raises(BadInput, match="no readings"):
        open_probe(Fields({"trace": str(tmp_path / "empty.csv")}, "[probe] "), Now())
