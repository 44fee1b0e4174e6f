"""A hold that goes on, on views made by hand; the pattern for a watch of beats."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.watches.hold_overrun import KIND, hold_overrun

SQUEEZE, TOP, ANNEAL, LAST = 2, 4, 6, 8
HOUR_S = 3600.0


@pytest.fixture
def held(view_of, leg_of):
    """Return a function that makes the view of a kiln that has held ``part`` for some minutes."""
    def view(part, minutes, *, at_c, **fields):
        readings = leg_of(at_c, at_c, minutes, from_s=HOUR_S)
        return view_of(readings, found=[(part, HOUR_S)], **fields)
    return view


@pytest.mark.parametrize(("part", "at_c", "minutes", "rank"), [
    (SQUEEZE, 670.0, 44.0, None),  # 30 min, and no quarter of an hour over
    (SQUEEZE, 670.0, 46.0, Rank.LOOK),
    (TOP, 800.0, 24.0, None),  # 10 min
    (TOP, 800.0, 26.0, Rank.WAKE),
    (ANNEAL, 516.0, 89.0, None),  # 60 min, and not half as long again
    (ANNEAL, 516.0, 91.0, Rank.LOG),
])
def test_a_hold_is_over_its_time_by_a_quarter_of_an_hour_or_half_as_long_again(held, part, at_c, minutes, rank):
    found = hold_overrun(held(part, minutes, at_c=at_c))
    assert (found.rank if found else None) is rank
    if found:
        assert found.kind is KIND
        assert found.facts.over_s == pytest.approx(minutes * 60.0 - found.facts.asked_s)
        assert (found.facts.hold_c, found.facts.temp_c) == (at_c, pytest.approx(at_c, abs=0.3))
        assert found.since_s == HOUR_S + found.facts.asked_s


def test_a_kiln_far_from_its_hold_holds_nothing(held):
    assert hold_overrun(held(TOP, 60.0, at_c=755.0)) is None
    assert hold_overrun(held(TOP, 60.0, at_c=765.0, peak_c=800.0)) is None  # below it, and climbed to: on its way
    assert hold_overrun(held(TOP, 60.0, at_c=835.0)) is not None


def test_a_weak_kiln_that_creeps_up_to_its_top_has_not_begun_to_hold(view_of, leg_of):
    creeping = leg_of(790.0, 797.0, 60.0)  # 7 °C/h, 3 K short
    assert hold_overrun(view_of(creeping, found=[(TOP, 0.0)])) is None
    still = leg_of(797.0, 797.0, 60.0)
    assert hold_overrun(view_of(still, found=[(TOP, 0.0)])).rank is Rank.WAKE


def test_a_ramp_overruns_nothing(view_of, leg_of):
    assert hold_overrun(view_of(leg_of(600.0, 610.0, 120.0), found=[(1, 0.0)])) is None
    assert hold_overrun(view_of(leg_of(20.0, 20.0, 120.0))) is None
