"""Parts are found where the controller really changed, whenever start was pressed and however the probe reads."""

from __future__ import annotations

from itertools import pairwise

import pytest

from daemon.firing.plan.schedule import planned_parts

NEAR_S, FAR_S = 180.0, 600.0

CLEAN = [
    ("full-fuse", {}),
    ("full-fuse", {"start_s": 1200.0}),
    ("full-fuse", {"start_s": -1200.0}),
    ("full-fuse", {"offset_k": 12.0}),
    ("full-fuse", {"offset_k": -12.0}),
    ("full-fuse", {"seed": 2}),
    ("full-fuse", {"kiln": "fibre-top-loader"}),
    ("slump-6mm", {}),
    ("slump-6mm", {"start_s": -1200.0, "offset_k": 12.0}),
    ("decal-6mm-fahrenheit", {}),
    ("decal-6mm-fahrenheit", {"offset_k": -12.0, "seed": 2}),
    ("slow-cooling", {}),
    ("too-fast", {}),
    ("too-fast", {"kiln": "front-loader"}),
    ("too-fast", {"kiln": "fibre-top-loader", "start_s": 1200.0}),
]
CASES = [pytest.param(name, around, id=" ".join([name, *(f"{key}={value}" for key, value in around.items())]))
         for name, around in CLEAN]


def found_and_true(night):
    """Return (true part, found part) for every true part; found is None where there is none."""
    found = {(part.step, part.part): part for part in night.report.parts}
    return [(true, found.get((true.step, true.part))) for true in night.truth.parts]


def is_told_by_the_trace(night, before, after) -> bool:
    """Return whether the trace can show the change at all.

    Between two ramps of one slope only the target tells, and how the probe differs is not known before the
    first hold. Where the kiln falls by itself, slower than the plan, going over to a free fall changes nothing.
    """
    planned = {(part.step, part.part): part for part in planned_parts(night.setup.plan)}
    was, becomes = planned[before.step, before.part], planned[after.step, after.part]
    return not (was.direction == becomes.direction and (
        becomes.rate_c_per_h is None or was.rate_c_per_h == becomes.rate_c_per_h))


@pytest.mark.parametrize(("name", "around"), CASES)
def test_every_part_is_found_once_and_in_its_order(fired, name, around):
    night = fired(name, **around)
    found = night.report.parts
    assert [(part.step, part.part) for part in found] == [(part.step, part.part) for part in night.truth.parts]
    for part, following in pairwise(found):
        assert part.start_s < part.end_s <= following.start_s


@pytest.mark.parametrize(("name", "around"), CASES)
def test_parts_begin_within_three_minutes_of_the_truth(fired, name, around):
    night = fired(name, **around)
    pairs = found_and_true(night)
    began_s = max(0.0, pairs[0][0].start_s)  # a start pressed late: the first reading is the first there is
    assert pairs[0][1].start_s == pytest.approx(began_s, abs=NEAR_S)
    for (before, _), (true, found) in pairwise(pairs):
        allowed_s = NEAR_S if is_told_by_the_trace(night, before, true) else FAR_S
        assert found.start_s == pytest.approx(true.start_s, abs=allowed_s), (true.step, true.part)


def test_most_boundaries_of_all_are_near_and_nearly_all_not_far(fired):
    away = [abs(found.start_s - max(0.0, true.start_s)) for name, around in CLEAN
            for true, found in found_and_true(fired(name, **around))]
    assert sum(s <= FAR_S for s in away) >= 0.99 * len(away)
    assert sum(s <= NEAR_S for s in away) >= 0.95 * len(away)


@pytest.mark.parametrize(("name", "around"), CASES)
def test_a_part_says_what_the_kiln_did_in_it(fired, name, around):
    night = fired(name, **around)
    planned = planned_parts(night.setup.plan)
    offset_k = around.get("offset_k", 0.0)
    for part in night.report.parts:
        asked = planned[part.index]
        if asked.part == "hold":
            assert part.mean_c == pytest.approx(asked.to_c + offset_k, abs=9.0)
            assert part.end_s - part.start_s == pytest.approx(asked.duration_s, abs=300.0)
        else:
            assert part.rate_c_per_h * asked.direction > 0
            # The mean of the part's readings lies between its ends.
            low, high = sorted((asked.from_c + offset_k, asked.to_c + offset_k))
            assert low - 15.0 < part.mean_c < high + 15.0


def test_a_ramp_that_is_followed_has_its_planned_rate(fired):
    rates = {part.step: part.rate_c_per_h for part in fired("slow-cooling").report.parts if part.part == "ramp"}
    assert rates[1] == pytest.approx(220.0, rel=0.05)
    assert rates[3] == pytest.approx(-55.0, rel=0.05)


def test_a_controller_that_waits_is_waited_for(fired):
    night = fired("too-fast")
    first = night.report.parts[0]
    # Asked 900 °C/h from 20 to 640 °C: 41 minutes by the plan's clock, over half an hour more in the kiln.
    assert first.end_s - first.start_s > 2480.0 + 1800.0
    assert first.rate_c_per_h < 600.0
    assert night.report.alerts == ()


@pytest.mark.parametrize("silent", ["silent=20min@step4:hold+50min", "silent=20min@step4:ramp+10min",
                                    "open=5min@step3:hold+3min", "silent=20min@step5:ramp+10min"])
def test_twenty_minutes_of_silence_lose_no_part(fired, silent):
    night = fired("full-fuse", silent)
    hole = night.truth.faults[0]
    for true, found in found_and_true(night):
        assert found is not None, (true.step, true.part)
        inside = hole.at_s - 60.0 <= true.start_s <= hole.until_s + 60.0
        allowed_s = FAR_S if inside else NEAR_S
        assert found.start_s == pytest.approx(true.start_s, abs=allowed_s), (true.step, true.part)


def test_what_the_owner_knows_of_his_probe_is_taken_off(fired):
    plain, known = fired("full-fuse"), fired("full-fuse", offset_k=12.0, owner_offset_k=12.0)
    for ours, theirs in zip(plain.report.parts, known.report.parts, strict=True):
        assert theirs.start_s == pytest.approx(ours.start_s, abs=60.0)
        assert theirs.mean_c == pytest.approx(ours.mean_c, abs=2.0)
    assert known.report.peak_c == pytest.approx(plain.report.peak_c, abs=1.0)
    assert known.report.offset_k == pytest.approx(12.0, abs=3.0)


def test_what_a_firing_shows_of_the_probe_is_told_but_not_taken_off_the_peak(fired):
    night = fired("full-fuse", offset_k=12.0)
    true_offset_k = 12.0 + night_offset(fired("full-fuse"))
    assert night.report.offset_k == pytest.approx(true_offset_k, abs=1.0)
    assert night.report.peak_c == pytest.approx(max(s.temp_c for s in night.samples), abs=2.5)
    assert night.report.peak_c > 800.0 + 8.0


def night_offset(night) -> float:
    """Return how the settled holds of a firing read against their targets [K]: the mean over their second halves."""
    away = []
    for true in night.truth.parts:
        if true.part == "hold" and true.end_s - true.start_s > 1200.0:
            target = night.setup.plan.steps[true.step - 1].to_c
            half = (true.start_s + true.end_s) / 2
            away += [s.temp_c - target for s in night.samples if half <= s.t_s < true.end_s]
    return sum(away) / len(away)
