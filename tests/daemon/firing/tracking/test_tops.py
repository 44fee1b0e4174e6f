"""A fall from a top begins where the readings left its height for good, whatever dipped before."""

from __future__ import annotations

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.tracking.path import Visit
from daemon.firing.tracking.tops import Tops, left_for_good_s

PARTS = planned_parts(Plan("Slump", "C", (Step(360.0, 600.0, 1200.0), Step(None, 516.0, 3600.0), Step(60.0, 400.0))))
"""States 1 climb, 2 hold at 600 °C, 3 free fall, 4 hold at 516 °C, 5 cooling."""
SAGS = (0.0, 20.0), (5800.0, 600.0), (5900.0, 588.0), (7000.0, 596.0), (8000.0, 516.0), (12_000.0, 516.0)
"""The readings sag by 12 K as the top begins; it is left at 7000 s, for a fall of 288 °C/h."""
LOOKED_AT = (0.0, 20.0), (5800.0, 600.0), (5860.0, 520.0), (5980.0, 597.0), (7000.0, 597.0), (8000.0, 516.0)
"""A lid is opened a moment after the top begins."""


def path(*visits):
    found = []
    for state, start_s in visits:
        found.append(Visit(state, start_s, found[-1] if found else None))
    return found


def states(visits):
    return [(visit.state, visit.start_s) for visit in visits]


@pytest.mark.parametrize("corners", [SAGS, LOOKED_AT])
def test_a_top_is_left_where_its_height_was_left_for_good(along, trail_of, corners):
    assert left_for_good_s(trail_of(along(*corners)), 5860.0, 7900.0) == pytest.approx(7000.0, abs=120.0)


def test_a_fall_that_began_there_stays_there(along, trail_of):
    assert left_for_good_s(trail_of(along(*SAGS)), 7060.0, 7900.0) == 7060.0


def test_a_vent_in_the_fall_does_not_bring_the_top_back(along, trail_of):
    vented = (0.0, 20.0), (5800.0, 600.0), (7000.0, 600.0), (7100.0, 500.0), (7200.0, 570.0), (8500.0, 516.0)
    assert left_for_good_s(trail_of(along(*vented)), 7060.0, 8400.0) == 7060.0


def test_without_readings_around_it_the_fall_stays(along, trail_of):
    trail = trail_of(along(*SAGS))
    assert left_for_good_s(trail, 0.0, 1000.0) == 0.0
    assert left_for_good_s(trail, 13_000.0, 14_000.0) == 13_000.0


def test_a_fall_that_the_follower_saw_too_early_begins_later(along, trail_of):
    tops = Tops(PARTS, trail_of(along(*SAGS)))
    put = tops.put_right(path((1, 0.0), (2, 5810.0), (3, 5900.0), (4, 8100.0)), 9000.0, 0.0, 8.0)
    assert states(put) == [(1, 0.0), (2, 5810.0), (3, pytest.approx(7000.0, abs=120.0)), (4, 8100.0)]


def test_a_top_that_it_passed_over_comes_back_whole(along, trail_of):
    tops = Tops(PARTS, trail_of(along(*SAGS)))
    put = tops.put_right(path((1, 0.0), (3, 5860.0), (4, 8100.0)), 9000.0, 0.0, 14.0)
    assert [visit.state for visit in put] == [1, 2, 3, 4]
    assert put[1].start_s == pytest.approx(5800.0, abs=180.0)
    assert put[2].start_s == pytest.approx(7000.0, abs=120.0)


def test_a_fall_at_a_rate_is_left_to_the_follower(along, trail_of):
    slow = planned_parts(Plan("Slow", "C", (Step(360.0, 600.0, 1200.0), Step(288.0, 516.0, 3600.0))))
    seen = path((1, 0.0), (2, 5810.0), (3, 5900.0), (4, 8100.0))
    assert states(Tops(slow, trail_of(along(*SAGS))).put_right(seen, 9000.0, 0.0, 8.0)) == states(seen)


def test_what_is_over_is_looked_at_once(along, trail_of, monkeypatch):
    asked = []
    monkeypatch.setattr("daemon.firing.tracking.tops.left_for_good_s",
                        lambda _trail, rough_s, _until_s: asked.append(rough_s) or rough_s)
    tops = Tops(PARTS, trail_of(along(*SAGS)))
    seen = path((1, 0.0), (2, 5810.0), (3, 7060.0))
    for now_s in (7100.0, 7160.0, 9200.0, 9260.0, 9320.0):
        tops.put_right(seen, now_s, 0.0, 8.0)
    assert asked == [7060.0] * 3
