"""A hold that stands off its target, on views made by hand: off by a known level, and each that is left alone."""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.detection.hold_level import OFF_K
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.speaker import ELECTRIC
from daemon.firing.watches.hold_off_target import KIND, HoldOffTarget, hold_off_target

SQUEEZE, ANNEAL = 2, 6
DOUBT_K = 2 * 0.5
"""Twice the wander of these views."""
LOWER_K = 3.0
"""So much lower a probe may read in one hold than in another near it."""


@pytest.fixture
def held(view_of, leg_of):
    """Return a function that makes the view of a hold that stands so far off its target for 20 minutes."""
    def view(part, to_c, off_k, *, drift_k=0.0, **fields):
        end_c = to_c + off_k
        readings = leg_of(end_c - drift_k, end_c, 20.0, ripple_k=0.0)
        return view_of(readings, found=[(part, 0.0)], wander_k=0.5, **fields)
    return view


@pytest.mark.parametrize(("part", "to_c", "off_k", "rank"), [
    (SQUEEZE, 670.0, OFF_K + DOUBT_K - 0.1, None),
    (SQUEEZE, 670.0, OFF_K + DOUBT_K + 0.1, Rank.LOOK),
    (SQUEEZE, 670.0, -OFF_K - DOUBT_K - LOWER_K + 0.1, None),
    (SQUEEZE, 670.0, -OFF_K - DOUBT_K - LOWER_K - 0.1, Rank.LOOK),
    (SQUEEZE, 670.0, -40.0, Rank.LOOK),  # however far: only the anneal wakes
    (ANNEAL, 516.0, 40.0, Rank.LOOK),  # too hot
    (ANNEAL, 516.0, -OFF_K - DOUBT_K - LOWER_K + 0.1, None),
    (ANNEAL, 516.0, -OFF_K - DOUBT_K - LOWER_K - 0.1, Rank.WAKE),  # no louder than its consequence, in the end
])
def test_a_hold_is_off_by_six_kelvins_beyond_doubt_and_an_anneal_too_cool_may_wake(held, part, to_c, off_k, rank):
    view = held(part, to_c, off_k)
    found = hold_off_target(view)
    if rank is None:
        assert found is None
        return
    step = {SQUEEZE: 2, ANNEAL: 4}[part]
    assert (found.kind, found.rank, found.since_s, found.step) == (KIND, rank, 0.0, step)
    assert found.facts == HoldOffTarget(pytest.approx(off_k), to_c, part == ANNEAL)
    assert found.severity_c == pytest.approx(abs(off_k))


def test_a_usual_difference_that_a_short_hold_has_shown_is_doubted_by_three_kelvins_more(view_of, leg_of):
    squeeze, anneal = leg_of(670.0, 670.0, 20.0, ripple_k=0.0), [0.0, 3.0]
    for more_k, is_told in ((anneal[0], False), (anneal[1], True)):
        level_c = 516.0 + OFF_K + DOUBT_K + more_k + 0.1
        readings = [*squeeze, *leg_of(level_c, level_c, 20.0, from_s=1205.0, ripple_k=0.0)]
        view = view_of(readings, found=[(SQUEEZE, 0.0, 1200.0), (ANNEAL, 1205.0)], wander_k=0.5,
                       offset_elsewhere_k=None)
        assert (hold_off_target(view) is not None) is is_told


def test_no_hold_an_unknown_probe_and_a_kiln_on_its_way_back_are_left_alone(held, view_of, leg_of):
    assert hold_off_target(held(ANNEAL, 516.0, -12.0, offset_elsewhere_k=None)) is None
    assert hold_off_target(held(ANNEAL, 516.0, -12.0, offset_elsewhere_k=-12.0)) is None
    assert hold_off_target(view_of(leg_of(650.0, 516.0, 20.0), found=[(5, 0.0)])) is None
    # 24 °C/h towards it are 6 K in a quarter of an hour: 9 K become 3, and 14 would become 8.
    for off_k, is_told in ((-9.0, False), (-14.0, True)):
        assert (hold_off_target(held(ANNEAL, 516.0, off_k, drift_k=8.0)) is not None) is is_told


@pytest.mark.parametrize(("facts", "what", "meaning"), [
    (HoldOffTarget(-14.0, 516.0, True), "Anneal hold 14 °C too cold, plan 516 °C.", "far below its target"),
    (HoldOffTarget(-14.0, 516.0, True, is_enough=True), "Anneal hold 14 °C too cold", "still does its work"),
    (HoldOffTarget(-24.0, 516.0, True, may_be_enough=True), "Anneal hold 24 °C too cold", "may still do its work"),
    (HoldOffTarget(9.0, 516.0, True), "Anneal hold 9 °C too hot, plan 516 °C.", "its cooling begins too hot"),
    (HoldOffTarget(9.0, 670.0, False), "Hold 9 °C too hot, plan 670 °C.", "does more than planned"),
    (HoldOffTarget(0.6, 516.0, True), " 1 °C too hot", "its cooling begins too hot"),
    (HoldOffTarget(0.6, 670.0, False), " 1 °C too hot", "does more than planned"),
    (HoldOffTarget(-9.0, 670.0, False), "Hold 9 °C too cold, plan 670 °C.", "does less than planned"),
])
def test_the_words_say_which_hold_which_side_and_what_that_does(facts, what, meaning):
    text = KIND.words(Finding(KIND, Rank.LOOK, 0.0, facts), example_firing.speaker())
    assert what in text.what
    assert meaning in text.meaning
    assert text.do.endswith(ELECTRIC)


def test_a_hold_that_is_too_hot_is_not_made_longer():
    def said(off_k):
        return KIND.words(Finding(KIND, Rank.LOOK, 0.0, HoldOffTarget(off_k, 516.0, True)),
                          example_firing.speaker()).acts[1]

    assert all("Is it not the plan's? Correct it. Is it right?" in said(off_k) for off_k in (9.0, -14.0))
    assert said(-14.0).endswith("Make the hold longer.")
    assert "longer" not in said(9.0)
    assert "isolator" in said(9.0)
