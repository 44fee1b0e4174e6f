"""How much lower than usual the probe may read: by what is known of it, and after a fall without power."""

from __future__ import annotations

from math import hypot, inf

import pytest

from daemon.firing.events import Part
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.situation.level_doubt import is_below, leads_back_to_c, low_doubt_k, may_be_at, since_fall_s

ANNEAL_PART = 6


@pytest.fixture
def at(view_of):
    """Return a function that makes the view of a kiln near its anneal, so long after a fall without power [s]."""
    def view(temp_c=516.0, fell_s=None, **fields):
        made = view_of([(10.0 * i, temp_c) for i in range(200)], ANNEAL_PART, **fields)
        made.fell_until_s = None if fell_s is None else made.t_s - fell_s
        return made
    return view


@pytest.mark.parametrize(("known", "near", "doubt_k"), [(True, True, 3.0), (True, False, 7.0), (False, False, 14.0)])
def test_the_less_is_known_of_a_probe_the_more_it_may_be_off(at, known, near, doubt_k):
    view = at(offset_known=known, is_offset_near=near)
    assert low_doubt_k(view, view.anneal) == doubt_k


@pytest.mark.parametrize(("fell_s", "doubt_k"), [
    (0.0, hypot(3.0, 24.0)), (300.0, hypot(3.0, 17.0 * 0.875)),
    (1200.0, hypot(3.0, 8.5)), (2396.0, hypot(3.0, 17.0 / 600)), (9000.0, 3.0)])
def test_in_a_fall_without_power_it_may_read_24_kelvins_low_after_it_17_and_comes_back_in_forty_minutes(
        at, fell_s, doubt_k):
    view = at(fell_s=fell_s)
    assert low_doubt_k(view, view.anneal) == pytest.approx(doubt_k)


def test_two_doubts_that_have_nothing_to_do_with_each_other_add_in_squares(at):
    view = at(fell_s=0.0, offset_known=False, is_offset_near=False)
    assert low_doubt_k(view, view.anneal) == pytest.approx(27.78, abs=0.01)  # √(14² + 24²)


@pytest.mark.parametrize(("peak_c", "doubt_k"), [
    (770.0, 30.0), (761.0, 39.0),
    (790.0, 14.0),  # nearer than what is doubted anyway
    (759.0, 14.0),  # so far below its top the kiln was not in it
])
def test_a_probe_that_read_the_top_too_low_may_read_the_anneal_as_low(at, peak_c, doubt_k):
    """The top of the plan is 800 °C."""
    view = at(offset_known=False, is_offset_near=False, peak_c=peak_c, first_c=20.0)
    assert low_doubt_k(view, view.anneal) == doubt_k
    known = at(peak_c=peak_c, first_c=20.0)
    assert low_doubt_k(known, known.anneal) == 3.0
    joined = at(offset_known=False, is_offset_near=False, peak_c=peak_c, first_c=500.0)
    assert low_doubt_k(joined, joined.anneal) == 14.0  # its top was not seen


def test_a_kiln_is_below_its_anneal_only_beyond_that_doubt(at):
    for temp_c, below in ((492.5, False), (491.0, True)):
        view = at(temp_c, fell_s=0.0)
        assert is_below(view, view.anneal) is below
        assert may_be_at(view, view.anneal) is not below
    late = at(500.0, fell_s=3000.0)
    assert is_below(late, late.anneal)
    assert not may_be_at(late, late.anneal)


def test_a_hold_that_was_climbed_to_follows_on_no_fall(at):
    view = at(fell_s=0.0)
    squeeze = next(part for part in view.parts if part.part == "hold")
    assert since_fall_s(view, squeeze) is None


@pytest.mark.parametrize(("c_per_h", "more_k"), [(160.0, 7.0), (120.0, 3.5), (80.0, 0.0), (40.0, 0.0)])
def test_what_a_fall_lacks_of_the_natural_one_the_elements_give(view_of, c_per_h, more_k):
    """The kiln falls by 160 °C/h without power: 160/3600 · 100 = 4.4 K that glass and thick sensors are late."""
    view = view_of([(10.0 * i, 516.0 - c_per_h * 10.0 * i / 3600) for i in range(60)], ANNEAL_PART)
    view.fell_until_s, view.natural_fall_c_per_h = view.t_s, 160.0
    assert low_doubt_k(view, view.anneal) == pytest.approx(hypot(3.0, 17.0 + 160.0 / 36 + more_k), abs=0.01)
    view.is_caught = True  # it was heated, and falls again: its power is gone
    assert low_doubt_k(view, view.anneal) == pytest.approx(hypot(3.0, 17.0 + 160.0 / 36), abs=0.01)


def test_as_cold_as_the_room_nothing_falls_by_itself(at):
    view = at(temp_c=15.0, fell_s=60.0, natural_fall_c_per_h=0.0)
    assert low_doubt_k(view, view.anneal) == pytest.approx(hypot(3.0, 17.0 * (1.0 - 60.0 / 2400)))


@pytest.mark.parametrize(("top_read_c", "level_c"), [(800.0, 516.0), (824.0, 540.0), (780.0, 516.0)])
def test_a_climb_leads_back_to_an_anneal_read_as_much_too_hot_as_its_top_was(at, top_read_c, level_c):
    """No usual difference is known. A top that was read too low says nothing of the anneal."""
    view = at(offset_known=False)
    view.found = (Part(3, 3, "hold", -900.0, 0.0, mean_c=top_read_c),)
    assert leads_back_to_c(view, view.anneal, level_c - 38.0) == level_c + hypot(14.0, 3.0)
    assert leads_back_to_c(view, view.anneal, level_c - 40.0) == -inf  # 14 + 25 K: its power was off
    known = at(offset_k=3.0)
    known.found = view.found
    assert leads_back_to_c(known, known.anneal, 500.0) == 516.0 + 3.0 + hypot(8.0, 3.0)
    assert leads_back_to_c(known, known.anneal, 519.0 - 34.0) == -inf  # 8 + 25 K
    elsewhere = at(is_offset_near=False)  # known from a hold at another temperature
    assert leads_back_to_c(elsewhere, elsewhere.anneal, 500.0) == 516.0 + hypot(8.0, 7.0)


def test_no_climb_leads_back_to_an_anneal_that_is_not_needed(at):
    view = at(first_c=20.0, peak_c=755.0)
    assert leads_back_to_c(view, view.anneal, 500.0) == -inf  # it was never at its top, 800 °C
    view = at()
    view.progress = AnnealProgress(view.glass, view.anneal)
    assert leads_back_to_c(view, view.anneal, 500.0) > 516.0
    for minute in range(61):
        view.progress.see(60.0 * minute, 516.0)
    assert leads_back_to_c(view, view.anneal, 500.0) == -inf  # it is whole
