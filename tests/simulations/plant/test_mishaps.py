"""Every fault of the bench leaves its mark in the trace, from its onset on and not before."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

from simulations.faults import KINDS, parse_all
from simulations.firing import Simulated, simulate
from simulations.plant.surroundings import Surroundings
from simulations.random_plans import on_paper

PLAN = on_paper("short", "300/640/20, 300/700/15, free/520/40, 80/440, free/200")
AROUND = Surroundings(sensor_offset_k=1.0)
WHEN = {
    "cooling": "cooling=3@step4", "heating": "heating=0.5@step1:ramp+20min", "stuck": "stuck=30min@step2:ramp",
    "advance": "advance@step2:hold+5min", "skip-hold": "skip-hold@step3", "hold-short": "hold-short@step3",
    "hold-long": "hold-long=2@step2", "hold-off": "hold-off=-15@step3", "swing": "swing@step3",
    "start-late": "start-late=20min", "start-early": "start-early=10min", "never-started": "never-started",
    "sag": "sag=0.4@step2", "runaway": "runaway=20min@step2:hold", "lid": "lid=60s@step3:hold+5min",
    "ajar": "ajar@step3:hold+5min", "vent": "vent@below500", "restart": "restart@step3:hold+5min",
    "power-cut": "power-cut=10min@step3:hold+5min", "set-to-n": "set-to-n", "set-to-s": "set-to-s",
    "n-set-to-k": "n-set-to-k", "reversed": "reversed", "copper-lead": "copper-lead", "spikes": "spikes=60",
    "hum": "hum", "drift": "drift=5@step1",
}
ONLY_THROUGH_THE_DRIVER = {"chip-reset", "bad-bits"}  # tests/simulations/test_bench.py has them
FROM_THE_START = {
    "start-late", "start-early", "never-started", "set-to-n", "set-to-s", "n-set-to-k", "reversed", "copper-lead",
    "spikes", "hum", "drift",
}


@cache
def fired(*specs: str) -> Simulated:
    return simulate(PLAN, "tabletop", parse_all(specs), 3, around=AROUND, noise_k=0.3, wander_k=0.0,
                    until_c=190.0, longest_s=9 * 3600.0)


@pytest.mark.parametrize("name", [name for name in KINDS if name not in ONLY_THROUGH_THE_DRIVER])
def test_a_fault_shows_in_the_readings_from_its_onset_on(name):
    found, clean = fired(WHEN.get(name, f"{name}@step3:hold+10min")), fired()
    (happened,) = found.truth.faults
    assert happened.name == name
    usual = {s.t_s: s for s in clean.samples}
    # Noise is the same for the same seed, so whatever differs by a degree is the fault's own.
    marks = [
        s.t_s for s in found.samples
        if s.t_s in usual and (s.fault != usual[s.t_s].fault or (
            s.temp_c is not None and max(abs(s.temp_c - usual[s.t_s].temp_c), s.high_c - usual[s.t_s].high_c) > 1.5))
    ]
    gone = len(found.samples) < len(clean.samples) - 5 or len(found.samples) > len(clean.samples) + 5
    assert marks or (name == "gap" and gone)
    if name not in FROM_THE_START and marks:
        assert marks[0] >= happened.at_s


def test_a_gap_leaves_no_row_and_nothing_else_changed():
    found, clean = fired("gap=10min@step3:hold+10min"), fired()
    (gap,) = found.truth.faults
    kept = [s.t_s for s in clean.samples if not gap.at_s < s.t_s <= gap.until_s]
    assert [s.t_s for s in found.samples] == kept


def test_a_frozen_reading_stays_at_its_last_value_to_the_digit_and_comes_back():
    found, clean = fired("frozen=30min@step3:hold+10min"), fired()
    (frozen,) = found.truth.faults
    before = [s for s in found.samples if s.t_s <= frozen.at_s]
    within = [s for s in found.samples if frozen.at_s < s.t_s <= frozen.until_s]
    assert len(within) == 360
    assert {(s.temp_c, s.low_c, s.high_c) for s in within} == {(before[-1].temp_c,) * 3}
    assert before == clean.samples[:len(before)]
    after = [s for s in found.samples if s.t_s > frozen.until_s]
    assert after == clean.samples[len(before) + len(within):]


def test_a_loose_contact_is_lost_as_often_and_as_long_as_asked():
    found = fired("flickers=60@step1:hold")
    (flickers,) = found.truth.faults
    after = [s for s in found.samples if s.t_s > flickers.at_s]
    assert {s.fault for s in after} == {None, "open"}
    lost = [s.t_s for s in after if s.temp_c is None]
    losses = 1 + sum(b - a > 5.0 for a, b in pairwise(lost))
    # In contact for a minute in the mean, then lost for 20 s: 45 losses an hour, a quarter of the time. Four standard
    # errors of a count of n losses, and of a mean of n exponential times, are 4/√n of it.
    hours = (after[-1].t_s - flickers.at_s) / 3600
    assert losses / hours == pytest.approx(45.0, rel=4 / losses**0.5)
    assert 5.0 * len(lost) / losses == pytest.approx(20.0, rel=4 / losses**0.5)
    assert losses > 30


def test_a_held_hold_is_as_far_off_as_asked():
    found = fired("hold-off=-15@step3")
    hold = next(p for p in found.truth.parts if (p.step, p.part) == (3, "hold"))
    late = [c for t, c in zip(found.truth.times_s, found.truth.probe_c, strict=True)
            if hold.end_s - 600 < t < hold.end_s]
    usual = [c for t, c in zip(fired().truth.times_s, fired().truth.probe_c, strict=True)
             if hold.end_s - 600 < t < hold.end_s]
    assert sum(late) / len(late) - sum(usual) / len(usual) == pytest.approx(-15, abs=1.5)


def test_a_minute_added_by_hand_is_in_the_truth():
    holds = [p for p in fired("hold-long=2@step2").truth.parts if (p.step, p.part) == (2, "hold")]
    assert holds[0].end_s - holds[0].start_s == pytest.approx(1800, abs=10)


def test_weak_elements_make_a_saturated_climb():
    def climb_s(found: Simulated) -> float:
        ramp = next(p for p in found.truth.parts if (p.step, p.part) == (2, "ramp"))
        return ramp.end_s - ramp.start_s
    assert climb_s(fired("sag=0.6@step2")) > 1.5 * climb_s(fired())


def test_a_used_type_k_reads_high_in_the_middle_and_right_again_at_the_top():
    used = simulate(PLAN, "tabletop", (), 3, around=Surroundings(sensor_offset_k=1.0, hysteresis_k=4.0),
                    noise_k=0.3, wander_k=0.0, until_c=190.0)
    truth, usual = used.truth, fired().truth
    off = [a - b for a, b in zip(truth.probe_c, usual.probe_c, strict=False)]
    anneal = next(p for p in truth.parts if (p.step, p.part) == (3, "hold"))
    top = next(p for p in truth.parts if (p.step, p.part) == (2, "hold"))
    assert 0.3 < off[int(anneal.end_s / 5) - 12] < 4.0
    assert off[int(top.end_s / 5) - 12] == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize(("interval_s", "share"), [(1, 5.0), (60, 1 / 12)])
def test_other_loggers_rows_are_as_far_apart_as_asked(interval_s, share):
    found = simulate(PLAN, "tabletop", (), 3, around=AROUND, interval_s=interval_s, longest_s=3600.0)
    times = [s.t_s for s in found.samples]
    assert {b - a for a, b in pairwise(times)} == {float(interval_s)}
    assert len(times) - 1 == pytest.approx(720 * share)
