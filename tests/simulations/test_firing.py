"""Simulated firings: deterministic, kiln-like, and honest about what really happened."""

from __future__ import annotations

import pytest

from daemon.acquisition.sampling import summary
from daemon.errors import BadInput
from daemon.firing.plan.plan import parse_plan
from hw.thermocouple import Reading
from simulations.bench import REHEARSAL_PLAN
from simulations.firing import Simulated, read_faults, simulate
from simulations.noise import stored
from simulations.plant.placement import Placement
from simulations.plant.surroundings import Surroundings

PLAN = parse_plan(REHEARSAL_PLAN, "bench")
CALM = Surroundings()


def run(*specs: str, seed: int = 3, **settings) -> Simulated:
    return simulate(PLAN, faults=read_faults(specs, PLAN), seed=seed, **settings)


def part(found: Simulated, step: int, name: str):
    return next(p for p in found.truth.parts if (p.step, p.part) == (step, name))


def at(found: Simulated, t_s: float) -> float:
    return found.samples[round(t_s / 5)].temp_c


def rate_c_per_h(found: Simulated, from_s: float, to_s: float) -> float:
    return (at(found, to_s) - at(found, from_s)) / (to_s - from_s) * 3600


@pytest.fixture(scope="module")
def clean() -> Simulated:
    return run()


def test_the_same_seed_is_the_same_firing(clean):
    again, other = run(), run(seed=4)
    assert again.samples == clean.samples
    assert other.samples != clean.samples


def test_samples_come_every_five_seconds_without_a_hole(clean):
    assert [s.t_s for s in clean.samples] == [5.0 * n for n in range(len(clean.samples))]
    assert all(s.low_c <= s.temp_c <= s.high_c for s in clean.samples)
    assert len(clean.truth.glass_c) == len(clean.truth.air_c) == len(clean.samples)


def test_a_clean_firing_runs_its_plan(clean):
    assert [(p.step, p.part) for p in clean.truth.parts] == [
        (1, "ramp"), (1, "hold"), (2, "ramp"), (2, "hold"), (3, "ramp"), (3, "hold"), (4, "ramp"), (5, "ramp"),
    ]
    hold = part(clean, 3, "hold")
    assert hold.end_s - hold.start_s == pytest.approx(3600, abs=10)
    cool = part(clean, 4, "ramp")
    assert rate_c_per_h(clean, cool.start_s + 600, cool.end_s - 600) == pytest.approx(-55, abs=2)
    assert max(s.temp_c for s in clean.samples) == pytest.approx(800, abs=9)


def test_glass_is_cooler_rising_and_hotter_falling(clean):
    climb, fall = part(clean, 1, "ramp"), part(clean, 3, "ramp")
    middle = round((climb.start_s + climb.end_s) / 10)
    assert clean.truth.glass_c[middle] < clean.samples[middle].temp_c - 2
    middle = round((fall.start_s + fall.end_s) / 10)
    assert clean.truth.glass_c[middle] > clean.samples[middle].temp_c + 2


def test_over_fast_cooling_is_as_fast_as_asked_from_its_onset():
    found = run("cooling=2.5@step4:ramp+60s")
    fault, cool = found.truth.faults[0], part(found, 4, "ramp")
    assert fault.at_s == pytest.approx(cool.start_s + 60, abs=5)
    assert rate_c_per_h(found, fault.at_s + 300, fault.at_s + 1500) == pytest.approx(-2.5 * 55, rel=0.06)


def test_a_vent_opens_where_the_closed_kiln_cannot_keep_up():
    found = run("cooling=6@step4:ramp+60s", around=CALM)
    onset_s = found.truth.faults[0].at_s
    assert rate_c_per_h(found, onset_s + 300, onset_s + 900) < -250


def test_it_ends_when_its_length_is_over():
    found = run("cooling=3,20min@step4:ramp+60s")
    fault = found.truth.faults[0]
    assert fault.until_s - fault.at_s == 1200
    assert rate_c_per_h(found, fault.at_s + 300, fault.until_s) == pytest.approx(-165, rel=0.06)
    assert rate_c_per_h(found, fault.until_s + 900, fault.until_s + 2400) == pytest.approx(-55, abs=6)


@pytest.mark.parametrize("name", ["open", "short", "silent"])
def test_a_blind_probe_gives_its_fault_and_never_a_number(name):
    found = run(f"{name}=5min@step3:hold+600s")
    blind = [s for s in found.samples if s.temp_c is None]
    assert {s.fault for s in blind} == {name}
    assert len(blind) == 60
    assert blind[0].t_s == pytest.approx(part(found, 3, "hold").start_s + 605, abs=5)


def test_power_cut_at_the_top_falls_away_and_ends_the_program():
    found = run("power-cut@step2:hold+120s")
    onset_s = found.truth.faults[0].at_s
    assert found.truth.parts[-1].end_s == onset_s
    assert at(found, onset_s) - at(found, onset_s + 600) > 60
    assert found.truth.faults[0].until_s is None


def test_power_back_takes_the_step_up_again():
    found = run("power-cut=10min@step2:hold+120s")
    assert [(p.step, p.part) for p in found.truth.parts][2:6] == [(2, "ramp"), (2, "hold"), (2, "ramp"), (2, "hold")]


def test_a_blink_of_the_mains_leaves_the_program_alone():
    found = run("power-cut=20s@step2:hold+120s")
    assert [(p.step, p.part) for p in found.truth.parts].count((2, "hold")) == 1


def test_a_restart_climbs_again_from_step_one():
    found = run("restart@step3:hold+600s")
    assert [(p.step, p.part) for p in found.truth.parts].count((1, "ramp")) == 2
    again = [p for p in found.truth.parts if (p.step, p.part) == (1, "ramp")][1]
    assert at(found, again.end_s) > 600


def test_a_runaway_climbs_through_the_top():
    found = run("runaway@step2:ramp+5min", longest_s=20 * 3600)
    assert max(s.temp_c for s in found.samples) > 900


def test_a_lid_opened_is_a_step_down_and_a_rebound():
    found = run("lid=60s@step4:ramp+20min", around=CALM)
    onset_s = found.truth.faults[0].at_s
    before, lowest = at(found, onset_s - 5), min(at(found, onset_s + n) for n in range(0, 120, 5))
    assert before - lowest > 15
    assert at(found, onset_s + 600) > lowest + 10


def test_a_stuck_controller_holds_on():
    found = run("stuck=1h@step1:hold+20min")
    hold = part(found, 1, "hold")
    assert hold.end_s - hold.start_s == pytest.approx(1800 + 3600, abs=10)


def test_a_skipped_hold_is_no_part_and_a_short_one_is_short():
    assert (3, "hold") not in [(p.step, p.part) for p in run("skip-hold@step3").truth.parts]
    short = part(run("hold-short=0.25@step3"), 3, "hold")
    assert short.end_s - short.start_s == pytest.approx(900, abs=10)


def test_the_kiln_may_start_long_before_or_after_the_press():
    late, early = run("start-late=2h"), run("start-early=15min")
    assert part(late, 1, "ramp").start_s == 7200
    assert part(early, 1, "ramp").start_s == -900
    assert early.samples[0].t_s == 0.0
    assert early.samples[0].temp_c == pytest.approx(20 + 220 / 4, abs=15)


def test_an_offset_moves_the_probe_and_not_the_kiln(clean):
    found = run(offset_k=6.0)
    assert (found.truth.parts, found.truth.glass_c) == (clean.truth.parts, clean.truth.glass_c)
    assert all(
        s.temp_c - c.temp_c == pytest.approx(6.0, abs=0.02)
        for s, c in zip(found.samples, clean.samples, strict=True)
    )


def test_noise_is_as_asked():
    quiet, noisy = run(noise_k=0.0, wander_k=0.0), run(noise_k=0.5, wander_k=0.0)
    off = [n.temp_c - q.temp_c for n, q in zip(noisy.samples, quiet.samples, strict=False)]
    spread = (sum(x * x for x in off) / len(off)) ** 0.5
    # The median of five normal readings has 0.536 of one's deviation (order statistics; David & Nagaraja).
    assert spread == pytest.approx(0.536 * 0.5, rel=0.05)


def test_the_stored_reading_is_the_services_own():
    temps = [516.31, 515.02, 517.77, 516.05, 516.6]
    assert stored(25.0, temps) == summary(25, [Reading(temp) for temp in temps])


@pytest.mark.parametrize(("spec", "told"), [
    ("gremlin@3600s", "gremlin"), ("open@step9:ramp", "the plan has 5"), ("open@step4:hold", "which has none"),
])
def test_a_fault_the_plan_has_no_place_for_is_bad_input(spec, told):
    with pytest.raises(BadInput, match=told):
        read_faults([spec], PLAN)


def test_an_unknown_kiln_lists_the_known():
    with pytest.raises(BadInput, match="top-loader"):
        simulate(PLAN, "toaster")


def test_the_report_of_the_truth_is_plain_values(clean):
    found = clean.truth.as_json()
    first = found["parts"][0]
    assert (first["step"], first["part"], first["start_s"]) == (1, "ramp", 120.0)
    assert first["end_s"] == part(clean, 1, "ramp").end_s
    assert first["glass_rate_c_per_h"] == pytest.approx(220, abs=12)
    assert found["faults"] == []
    assert found["peak_glass_c"] == pytest.approx(800, abs=12)


def test_a_logger_of_coarse_steps_shows_nothing_between_them():
    found = run(around=Surroundings(probe=Placement(step_k=0.5)), longest_s=3600.0)
    assert all(s.temp_c * 2 == round(s.temp_c * 2) for s in found.samples[1:])


def test_a_logger_that_codes_zeros_writes_one_reading_in_so_many_as_0():
    found = run("zeros=4@30min", longest_s=3600.0)
    later = [s.temp_c for s in found.samples if s.t_s > 1810]
    assert later.count(0.0) == pytest.approx(len(later) / 4, abs=1)
    assert all(s.temp_c > 0.0 for s in found.samples if s.t_s < 1800)
    assert min(found.truth.probe_c) > 10.0, "the truth has no zeros"
