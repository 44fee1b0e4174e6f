"""The bench probe: the real driver on a kiln that goes by the firing clock."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.errors import BadInput
from daemon.fields import Fields
from hw.thermocouple import Fault
from simulations.bench import REHEARSAL_PLAN, open_probe, plan_from, simulate_through_chip
from simulations.firing import read_faults, simulate


def opened(settings, now_s):
    return open_probe(Fields(settings, "[probe] "), now_s)

PLAN = plan_from(REHEARSAL_PLAN)


class Clock:
    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


def test_through_the_chip_it_is_the_same_firing_as_without():
    full = simulate_through_chip(PLAN, seed=3, noise_k=0.0, wander_k=0.0, longest_s=3 * 3600)
    fast = simulate(PLAN, seed=3, noise_k=0.0, wander_k=0.0, longest_s=3 * 3600)
    # Where a part shows in the curve is worked out from the readings, which the chip's noise is in.
    assert replace(full.truth.parts[0], bend_s=None) == replace(fast.truth.parts[0], bend_s=None)
    worst = max(abs(a.temp_c - b.temp_c) for a, b in zip(full.samples, fast.samples, strict=False))
    # Four samples of the chip's 1.3 µV noise are 0.016 K of type K; the reading ends 0.29 s after its second
    # while the kiln climbs 0.06 K a second.
    assert worst < 0.1


@pytest.mark.parametrize(("name", "fault"), [("open", "open"), ("short", "short"), ("silent", "silent")])
def test_faults_reach_through_the_driver(name, fault):
    faults = read_faults([f"{name}=5min@40min"], PLAN)
    found = simulate_through_chip(PLAN, faults=faults, seed=3, longest_s=3600)
    blind = [s for s in found.samples if s.temp_c is None]
    assert {s.fault for s in blind} == {fault}
    assert 58 <= len(blind) <= 61
    assert found.samples[-1].temp_c is not None, "and it comes back"


def test_a_service_that_starts_again_finds_the_kiln_where_it_would_have_gone():
    clock = Clock()
    steady = opened({"seed": 9}, clock)
    for clock.now_s in range(0, 7200):
        reading = steady.read()
    anew = opened({"seed": 9}, clock)
    assert anew.read().temp_c == pytest.approx(reading.temp_c, abs=3.0)  # each has its own white noise
    assert anew.plant.kiln.glass_c == pytest.approx(steady.plant.kiln.glass_c, abs=1e-9)


def test_a_probe_set_to_another_type_than_the_chip_is_not_mistaken():
    clock = Clock()
    for kind in ("K", "N", "S", "R"):
        probe = opened({"thermocouple_type": kind, "noise_c": 0, "wander_c": 0, "start_s": 0}, clock)
        clock.now_s = 3600.0
        assert probe.read().temp_c == pytest.approx(probe.plant.probe.temp_c, abs=1.5)


def test_the_clock_going_back_is_survived():
    clock = Clock()
    probe = opened({}, clock)
    clock.now_s = 5000.0
    first = probe.read().temp_c
    clock.now_s = 4000.0
    assert probe.read().temp_c == pytest.approx(first, abs=4.0)


def test_the_log_can_tell_the_bench():
    clock = Clock()
    probe = opened({"faults": ["open@10s"]}, clock)
    clock.now_s = 60.0
    reading = probe.read()
    assert reading.fault is Fault.OPEN
    assert reading.detail.startswith("bench:")


def test_a_plan_may_be_a_file(tmp_path):
    path = tmp_path / "slump.toml"
    path.write_text('title = "Slump"\nunit = "C"\n[[step]]\nrate = 100\nto = 640\nhold_min = 15\n', encoding="utf-8")
    probe = opened({"plan": str(path)}, Clock())
    assert probe.plant.controller.program[0].to_c == 640


@pytest.mark.parametrize(("settings", "told"), [
    ({"plan": "no-such.toml"}, "no-such.toml"), ({"plan": 'title = "x"'}, r"\[probe\] plan"),
    ({"faults": ["gremlin@1h"]}, "gremlin"),
])
def test_a_plan_or_fault_that_cannot_be_used_is_bad_input(settings, told):
    with pytest.raises(BadInput, match=told):
        opened(settings, Clock())


@pytest.mark.parametrize("settings", [
    {"kiln": "toaster"}, {"seed": "seven"}, {"start_s": None}, {"noise_c": -1}, {"thermocouple_type": "B"},
    {"faults": 3}, {"speed": 300},
])
def test_a_setting_that_cannot_be_used_is_named(settings):
    with pytest.raises(BadInput, match=next(iter(settings))):
        opened(settings, Clock())


def test_a_scenario_brings_its_plan_its_faults_and_its_kiln_with_it():
    probe = opened({"kiln": "probe-open-cold", "seed": 4}, Clock())
    assert [fault.name for fault in probe.plant.mishaps.waiting] == ["open"]
    assert len(probe.plant.controller.program) == 7
    kiln = opened({"kiln": "tabletop", "faults": ["lid@2h"]}, Clock())
    assert kiln.plant.build.name == "tabletop"
    assert [fault.name for fault in kiln.plant.mishaps.waiting] == ["lid"]


def read_at(probe, clock, seconds):
    found = []
    for second in seconds:
        clock.now_s = float(second)
        found.append(probe.read())
    return found


def test_a_chip_that_lost_its_settings_is_not_believed_until_it_has_them_again():
    clock = Clock()
    probe = opened({"faults": ["chip-reset@100s"], "noise_c": 0, "wander_c": 0, "start_s": 3600}, clock)
    found = read_at(probe, clock, range(90, 130))
    assert all(r.temp_c is None or abs(r.temp_c - found[0].temp_c) < 1.0 for r in found)
    assert found[-1].temp_c is not None


def test_a_stuck_chip_is_silent_and_comes_back():
    clock = Clock()
    probe = opened({"faults": ["chip-stuck=30s@100s"], "noise_c": 0, "wander_c": 0, "start_s": 3600}, clock)
    found = read_at(probe, clock, range(90, 160))
    assert any(r.temp_c is None for r in found[10:40])
    assert found[-1].temp_c is not None


def test_a_frozen_chip_gives_one_value_without_a_fault_and_comes_back():
    clock = Clock()
    probe = opened({"faults": ["frozen=60s@100s"], "noise_c": 0.5, "start_s": 3600}, clock)
    found = [reading.temp_c for reading in read_at(probe, clock, range(90, 190))]
    assert None not in found
    assert len(set(found[20:60])) == 1
    assert len(set(found[:10])) > 5
    assert len(set(found[80:])) > 5


def test_a_loose_contact_is_an_open_one_now_and_then():
    clock = Clock()
    probe = opened({"faults": ["flickers=120@100s"], "start_s": 3600}, clock)
    found = [reading.fault for reading in read_at(probe, clock, range(90, 700))]
    assert set(found[:10]) == {None}
    assert set(found[10:]) == {None, Fault.OPEN}


def test_wrong_bits_on_the_bus_are_mostly_disbelieved_and_never_survive_the_median():
    plan = plan_from(REHEARSAL_PLAN)
    found = simulate_through_chip(plan, faults=read_faults(["bad-bits=0.01"], plan), seed=5, noise_k=0.1,
                                  wander_k=0.0, longest_s=3600.0)
    off = [abs(s.temp_c - true_c) for s, true_c in zip(found.samples, found.truth.probe_c, strict=True)
           if s.temp_c is not None]
    assert len(off) > 0.97 * len(found.samples)
    assert max(off) < 2.0


def test_out_of_the_kiln_the_thermocouple_reads_its_bath():
    clock = Clock()
    probe = opened({"bath_c": 0.0, "noise_c": 0.0, "wander_c": 0.0, "offset_c": 0.8}, clock)
    # Four samples of the chip's 1.3 µV noise are 0.016 K of type K; its steps of 1/128 and 1/64 K come on top.
    assert probe.read().temp_c == pytest.approx(0.8, abs=0.1)
    clock.now_s = 3600.0
    assert probe.read().temp_c == pytest.approx(0.8, abs=0.1), "however hot the kiln is meanwhile"
    assert probe.plant.kiln.glass_c > 100
