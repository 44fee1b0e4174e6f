"""What must be said of a firing follows from what it does to the glass."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.plan.plan import Plan, Step
from simulations.plant.mishaps import Happened
from simulations.second_plant.cases import faulty_case
from simulations.second_plant.labels import Known, ajar, anneal, cut, fallen, lid_open
from simulations.truth import TruePart, Truth

PLAN = Plan("invented", "C", (
    Step(200.0, 800.0, 600.0, "top"), Step(None, 515.0, 3600.0, "anneal"), Step(60.0, 400.0), Step(None, 40.0)))
TOP_S, FALL_S, ANNEAL_S, COOL_S = 14_000.0, 14_600.0, 16_400.0, 20_000.0


def planned_c(t_s: float) -> float:
    """Return the plan's own course: a climb of 200 K/h, ten minutes, half an hour's fall, an hour, 60 K/h."""
    if t_s < TOP_S:
        return 800 - (TOP_S - t_s) / 18
    if t_s < FALL_S:
        return 800.0
    if t_s < ANNEAL_S:
        return 800 - 285 * (t_s - FALL_S) / (ANNEAL_S - FALL_S)
    return 515.0 if t_s < COOL_S else max(30.0, 515 - (t_s - COOL_S) / 60)


def falling_from(at_s: float, rate_c_per_h: float = 500.0):
    """Return the plan's course until ``at_s`` and a fall at a steady rate from then on."""
    def course_c(t_s: float) -> float:
        return planned_c(t_s) if t_s < at_s else max(30.0, planned_c(at_s) - (t_s - at_s) * rate_c_per_h / 3600)
    return course_c


def known(course_c, happened: Happened, thickness_mm: float = 6.0, plan: Plan = PLAN) -> Known:
    """Return a firing of that course, in which something happened."""
    case = replace(faulty_case("power-gone", 1), plan=plan, glass="90", thickness_mm=thickness_mm, top=1, anneal=2,
                   cool=3)
    times = tuple(10.0 * n for n in range(4500))
    temps = tuple(course_c(t_s) for t_s in times)
    parts = (
        TruePart(1, "ramp", 0.0, TOP_S), TruePart(1, "hold", TOP_S, FALL_S), TruePart(2, "ramp", FALL_S, ANNEAL_S),
        TruePart(2, "hold", ANNEAL_S, COOL_S), TruePart(3, "ramp", COOL_S, None),
    )
    until_s = happened.at_s if happened.name == "power-cut" else 1e12
    ran = tuple(part if part.end_s and part.end_s < until_s else replace(part, end_s=None)
                for part in parts if part.start_s < until_s)
    return Known(case, Truth(ran, (happened,), 0.0, temps, temps, temps, times))


def cut_at(at_s: float, thickness_mm: float = 6.0, plan: Plan = PLAN):
    """Return what must be said of power lost for good at ``at_s``."""
    (expected,) = cut(known(falling_from(at_s), Happened("power-cut", None, at_s, None), thickness_mm, plan))
    return expected


def test_power_lost_when_one_of_ten_minutes_at_the_top_has_passed_wakes_at_once():
    expected = cut_at(TOP_S + 60)
    assert (expected.rank, expected.wake_after_s) == ("wake", 0.0)


def test_power_lost_three_minutes_before_a_free_fall_wakes_once_the_anneal_is_missed():
    # From 800 °C at 500 K/h it is 25 K below 515 °C after (285 + 25)/500 h = 2232 s.
    expected = cut_at(FALL_S - 180)
    assert expected.rank == "wake"
    assert expected.wake_after_s == pytest.approx(2232, abs=40)


def test_power_lost_three_minutes_before_a_slow_fall_wakes_at_once():
    slow = replace(PLAN, steps=(PLAN.steps[0], replace(PLAN.steps[1], rate_c_per_h=100.0), *PLAN.steps[2:]))
    assert cut_at(FALL_S - 180, plan=slow).wake_after_s == 0.0


def test_power_lost_while_climbing_wakes_only_above_540():
    assert cut_at(TOP_S - 18 * 200).rank == "wake"
    assert cut_at(TOP_S - 18 * 330).rank == "look"
    assert cut_at(TOP_S - 18 * 600).rank == "log"


def test_power_lost_late_in_the_anneal_harms_thick_glass_and_not_thin():
    # At 515 °C a relaxation time is a minute: after half an hour only the fall's rate counts, 500 K/h by d².
    assert cut_at(ANNEAL_S + 1800, 12.0).rank == "wake"
    assert cut_at(ANNEAL_S + 1800, 3.0).rank == "look"


def test_a_hold_that_reads_low_but_relaxes_is_a_look_and_one_that_does_not_is_a_wake():
    label = anneal("hold-off", "hold-off-target", "fault", ())
    for low_k, rank in ((10.0, "look"), (75.0, "wake")):
        happened = Happened("hold-off", -low_k, ANNEAL_S, None)
        (expected,) = label(known(
            lambda t_s, low_k=low_k: planned_c(t_s) - (low_k if ANNEAL_S <= t_s < COOL_S else 0.0), happened))
        assert expected.rank == rank


def test_a_lid_ajar_asks_for_what_it_does_to_the_fall():
    at_s = COOL_S + 600
    happened = Happened("ajar", 0.2, at_s, None)
    assert ajar(known(planned_c, happened)) == ()
    assert ajar(known(falling_from(at_s, 80.0), happened))[0].rank == "look"
    assert ajar(known(falling_from(at_s, 400.0), happened))[0].rank == "wake"


def test_an_open_lid_asks_for_no_more_than_the_reading_shows():
    at_s = ANNEAL_S + 600
    found = [lid_open(known(lambda t_s, k=k: planned_c(t_s) - (k if t_s > at_s else 0.0),
                            Happened("ajar", 0.5, at_s, None))) for k in (5.0, 20.0, 60.0)]
    assert found[0] == ()
    assert [expected.rank for (expected,) in found[1:]] == ["look", "wake"]


def test_a_probe_that_fell_a_little_may_pass_for_a_draught():
    at_s = ANNEAL_S + 600
    found = [fallen(known(lambda t_s, k=k: planned_c(t_s) - (k if t_s > at_s else 0.0),
                          Happened("fallen", 0.5, at_s, None))) for k in (5.0, 20.0, 60.0)]
    assert found[0] == ()
    assert [expected.rank for (expected,) in found[1:]] == ["look", "wake"]


def test_power_that_comes_back_to_a_kiln_that_fell_far_asks_for_a_restart():
    def course_c(t_s: float) -> float:
        fallen_c = falling_from(ANNEAL_S + 600)
        back_s = ANNEAL_S + 600 + 1800
        return fallen_c(t_s) if t_s < back_s else min(515.0, fallen_c(back_s) + (t_s - back_s) / 12)

    happened = Happened("power-cut", None, ANNEAL_S + 600, ANNEAL_S + 2400)
    assert [expected.kinds[0] for expected in cut(known(course_c, happened))] == ["firing-stopped", "restarted"]
