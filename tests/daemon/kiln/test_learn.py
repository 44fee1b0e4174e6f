"""A kiln of two bodies fires by the equations themselves; what is learned must foresee its next firing."""

from dataclasses import replace
from itertools import pairwise

import pytest
from scipy.stats import norm, t

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.kiln.foresight import OPEN_C, foresee
from daemon.kiln.kiln_model import Difference, PartKind
from daemon.kiln.learn import few_nights, learn
from tests.daemon.kiln.conftest import FUSE, SLUMP, THICK, TRUE, fired


def ends(foresight):
    return [part.end_s / 60 for part in foresight.parts]


def test_nothing_is_learned_from_nothing():
    assert learn([]) is None


def test_three_firings_foresee_the_fourth():
    model = learn([fired(FUSE, seed=1), fired(SLUMP, seed=2), fired(FUSE, seed=3)])
    planned = planned_parts(THICK)
    truth, found = foresee(planned, TRUE, 19.0, room_c=19.0), foresee(planned, model, 19.0, room_c=19.0)
    assert ends(found)[:-1] == pytest.approx(ends(truth)[:-1], abs=8)
    assert found.opens_s == pytest.approx(truth.opens_s, rel=0.03)
    assert found.parts[0].start_s == pytest.approx(120.0)


def test_more_firings_narrow_the_band():
    firings = [fired(plan, seed=i) for i, plan in enumerate([FUSE, SLUMP, THICK] * 4)]
    foreseen = [foresee(planned_parts(FUSE), learn(firings[:count]), 19.0) for count in (1, 3, 12)]
    margins = [each.parts[-2].end_margin_s for each in foreseen]
    assert margins == sorted(margins, reverse=True)
    assert margins[-1] < 0.7 * margins[0]
    openings = [each.opens_margin_s for each in foreseen]
    assert openings == sorted(openings, reverse=True)
    assert openings[-1] < 0.5 * openings[0]


@pytest.mark.parametrize("count", range(3, 12))
def test_few_nights_make_the_band_of_the_opening_wider_as_student_has_it(count):
    # A sample's own deviations have n - 1 degrees of freedom, and n / (n - 1) of their variance is the population's.
    expected = t.ppf(0.9, count - 1) / norm.ppf(0.9) * (count / (count - 1)) ** 0.5
    assert few_nights(count) == pytest.approx(expected, rel=0.002)


def test_of_one_or_two_nights_the_band_is_as_wide_as_of_three():
    assert few_nights(1) == few_nights(2) == few_nights(3)


def test_a_weak_kiln_is_said_to_be_slow_from_where_it_is():
    weak = TRUE._replace(power_k_per_s=0.125)
    model = learn([fired(FUSE, weak, seed=i) for i in range(3)])
    assert model.is_power_known
    truth = foresee(planned_parts(FUSE), weak, 19.0, room_c=19.0)
    found = foresee(planned_parts(FUSE), model, 19.0, room_c=19.0)
    slow, slow_truth = found.parts[0], truth.parts[0]
    assert slow.slow_from_c == pytest.approx(slow_truth.slow_from_c, abs=60)
    assert slow.slow_c_per_h == pytest.approx(slow_truth.slow_c_per_h, rel=0.12)


def test_a_controller_that_waits_is_no_weak_kiln():
    waits = TRUE._replace(waits_s_per_k=12.0)
    model = learn([fired(FUSE, waits, seed=1), fired(SLUMP, waits, seed=2)])
    assert model.waits_s_per_k == pytest.approx(12.0, abs=1.5)
    assert not model.is_power_known
    found, truth = (foresee(planned_parts(THICK), each, 19.0, room_c=19.0) for each in (model, waits))
    assert found.parts[1].end_s == pytest.approx(truth.parts[1].end_s, rel=0.04)


def test_a_kiln_that_can_not_reach_the_top_says_so():
    hopeless = TRUE._replace(power_k_per_s=0.09)
    foreseen = foresee(planned_parts(FUSE), hopeless, 19.0, room_c=19.0)
    assert not foreseen.parts[0].is_reached
    assert foreseen.parts[0].slow_from_c < 670


@pytest.mark.parametrize("c_per_h", [4.0, 0.1])
def test_a_part_that_is_planned_slow_takes_its_planned_time(c_per_h):
    plan = Plan("Very thick, invented", "C", (Step(c_per_h, 515, 3600), Step(c_per_h, 500), Step(None, 40)))
    up, _, down, _ = foresee(planned_parts(plan, 500.0), TRUE, 500.0, walls_c=450.0).parts
    assert (up.is_reached, up.slow_from_c, down.is_reached) == (True, None, True)
    assert up.end_s - up.start_s == pytest.approx(15 / c_per_h * 3600)  # a straight line
    assert down.end_s - down.start_s == pytest.approx(15 / c_per_h * 3600)


@pytest.mark.parametrize("power_k_per_s", [0.05, 0.11])
def test_a_kiln_too_weak_for_a_slow_climb_never_comes_to_its_end(power_k_per_s):
    plan = Plan("Very thick, invented", "C", (Step(4, 800, 3600), Step(None, 40)))
    climb = foresee(planned_parts(plan), TRUE._replace(power_k_per_s=power_k_per_s), 19.0, room_c=19.0).parts[0]
    assert not climb.is_reached
    assert climb.slow_from_c is not None


def test_one_vented_night_changes_little():
    firings = [fired(FUSE, seed=i) for i in range(4)]
    plain = foresee(planned_parts(FUSE), learn(firings), 19.0, room_c=19.0)
    vented = firings[0]
    begin = next(ran.start_s for ran in vented.ran if ran.part == 4)
    cooled = [(t, c - min(90.0, max(0.0, (t - begin - 600) / 20)) if t > begin else c) for t, c in vented.trace]
    spoilt = foresee(planned_parts(FUSE), learn([replace(vented, trace=cooled), *firings[1:]]), 19.0, room_c=19.0)
    assert ends(spoilt)[:-1] == pytest.approx(ends(plain)[:-1], abs=8)


def test_it_goes_on_from_the_middle_of_a_firing():
    planned = planned_parts(FUSE)
    whole = foresee(planned, TRUE, 19.0, room_c=19.0)
    hold = next(part for part in planned if part.purpose == "anneal" or (part.part == "hold" and part.to_c == 516))
    begun = whole.parts[hold.index]
    rest = foresee(planned, TRUE, 516.0, room_c=19.0, walls_c=420.0, at_s=begun.start_s, index=hold.index)
    assert [part.part for part in rest.parts] == [part.part for part in whole.parts[hold.index:]]
    assert rest.parts[0].end_s == begun.end_s


@pytest.mark.parametrize("longer_s", [-1200.0, 1200.0])
def test_a_usual_difference_moves_the_end_of_a_part_and_its_curve_with_it(longer_s):
    usual = TRUE._replace(differences={PartKind.CLIMB: Difference(longer_s, 0.0, 0.0)})
    plain, found = (foresee(planned_parts(FUSE), model, 19.0, room_c=19.0) for model in (TRUE, usual))
    assert found.parts[0].end_s == pytest.approx(plain.parts[0].end_s + longer_s)
    assert all(b[0] >= a[0] for a, b in pairwise(found.curve))


def test_the_curve_ends_cool_enough_to_open():
    foreseen = foresee(planned_parts(SLUMP), TRUE, 19.0, room_c=19.0)
    assert foreseen.curve[-1][1] == pytest.approx(OPEN_C, abs=0.5)
    warm = foresee(planned_parts(SLUMP), TRUE, 41.0, room_c=41.0)
    assert warm.opens_s is None
