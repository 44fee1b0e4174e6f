"""Boundaries by themselves: the follower's visits made by hand, over readings that bend where they should."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.tracking.boundaries import Boundaries, end_open_part
from daemon.firing.tracking.boundary_time import Uncertainty
from daemon.firing.tracking.path import Visit

SURE = Uncertainty(0.1, 0.0, 8.0)
SLUMP = planned_parts(Plan("Slump", "C", (Step(360.0, 600.0, 1800.0), Step(180.0, 516.0, 3600.0), Step(60.0, 400.0))))
"""States 1 climb, 2 hold at 600 °C, 3 fall, 4 hold at 516 °C, 5 cooling."""
RUN = (0.0, 20.0), (5800.0, 600.0), (7600.0, 600.0), (9280.0, 516.0), (12_880.0, 516.0), (19_840.0, 400.0)
"""SLUMP as written: corners (s, °C)."""


def path(*visits):
    """Return the last of the visits (state, second), each linked to the one before."""
    last = None
    for state, start_s in visits:
        last = Visit(state, start_s, last)
    return last


class Watched:
    """Boundaries that have read ``readings``, with the trail they look back on."""

    def __init__(self, trail_of, readings, parts=SLUMP):
        self.trail = trail_of([])
        self.boundaries = Boundaries(parts, self.trail)
        self._readings = list(readings)

    def until(self, now_s):
        """Read what comes before ``now_s``."""
        while self._readings and self._readings[0][0] < now_s:
            t_s, temp_c = self._readings.pop(0)
            self.trail.add(t_s, temp_c)
            self.boundaries.count_in(temp_c)

    def revise(self, latest, now_s, uncertainty=SURE, shut=()):
        self.until(now_s)
        return self.boundaries.revise(latest, now_s, uncertainty, shut=shut)

    @property
    def found(self):
        return self.boundaries.found


@pytest.fixture
def watched(along, trail_of):
    return lambda *corners, parts=SLUMP: Watched(trail_of, along(*(corners or RUN)), parts)


def told(found):
    return [(p.index, p.step, p.part, p.start_s, p.end_s) for p in found]


SEEN = path((1, 0.0), (2, 5900.0), (3, 7700.0), (4, 9400.0))


def test_each_visit_is_a_part_from_where_the_readings_bent(watched):
    one = watched()
    one.revise(SEEN, 12_000.0)
    assert told(one.found) == [
        (0, 1, "ramp", 0.0, 5800.0), (1, 1, "hold", 5800.0, 7600.0), (2, 2, "ramp", 7600.0, 9280.0),
        (3, 2, "hold", 9280.0, None)]


def test_a_part_says_its_rate_and_its_mean(watched):
    one = watched()
    one.revise(SEEN, 12_000.0)
    climb, top, fall, anneal = one.found  # a reading every ten seconds, the first of a part its own
    assert [p.rate_c_per_h for p in (climb, top, fall, anneal)] == pytest.approx([360.0, 0.0, -180.0, 0.0], abs=4.0)
    assert [p.mean_c for p in (climb, top, fall, anneal)] == pytest.approx([309.5, 600.0, 558.25, 516.0])


def test_before_and_after_the_plan_there_is_no_part(watched):
    one = watched()
    one.revise(path((0, 0.0)), 100.0)
    assert one.found == ()
    late = watched()
    late.revise(path((5, 12_900.0), (6, 19_700.0)), 19_800.0)
    assert [p.index for p in late.found] == [4]
    assert late.found[0].end_s is not None


def test_the_part_under_way_goes_on_with_every_reading(watched):
    one = watched()
    assert one.revise(SEEN, 10_000.0)
    assert not one.revise(SEEN, 10_020.0)  # nothing new but the time
    one.until(11_000.0)
    one.boundaries.revise(SEEN, 10_050.0, SURE)
    assert one.found[-1].end_s is None
    # Two of its seconds more, all at 516 °C; the mean counts every reading there is.
    assert one.found[-1].mean_c == pytest.approx(516.0, abs=0.1)


def test_an_open_ramp_is_brought_up_to_now(watched):
    one = watched()
    seen = path((1, 0.0))
    one.revise(seen, 1000.0)
    assert one.found[0].mean_c == pytest.approx(20.0 + 0.05 * 990.0)
    one.revise(seen, 1040.0)  # within the minute: only the open part goes on
    assert one.found[0].mean_c == pytest.approx(20.0 + 0.05 * 1030.0)
    assert one.found[0].rate_c_per_h == pytest.approx(360.0)


def test_it_is_told_again_where_a_part_changes_and_every_ten_minutes(watched):
    one = watched()
    seen = path((1, 0.0))
    assert one.revise(seen, 600.0)
    assert [now_s for now_s in range(660, 2400, 60) if one.revise(seen, float(now_s))] == [1200, 1800]
    assert one.revise(path((1, 0.0), (2, 2000.0)), 2400.0)


@pytest.mark.parametrize(("first_s", "then_s", "is_sought"), [
    (6000.0, 6059.0, False), (6000.0, 6061.0, True),  # once a minute
    (6630.0, 6695.0, True), (6710.0, 6900.0, False),  # until 900 s after its climb is due to end, 5800 s
])
def test_a_boundary_is_sought_once_a_minute_until_it_is_settled(watched, monkeypatch, first_s, then_s, is_sought):
    one = watched((0.0, 20.0), (5800.0, 600.0), (9000.0, 600.0))
    one.revise(path((1, 0.0), (2, 5700.0)), first_s)
    assert one.found[1].start_s == 5800.0
    monkeypatch.setattr("daemon.firing.tracking.boundaries.boundary_s", lambda *_: 5000.0)
    one.revise(path((1, 0.0), (2, 5700.0)), then_s)
    assert one.found[1].start_s == (5000.0 if is_sought else 5800.0)


def test_a_hold_begins_anew_by_its_planned_length_when_its_end_is_known(watched):
    # Crept up to: a bend is sought eight minutes before 6500 s, to 6020 s; the clock says 5800 s = 7600 − 1800, where
    # the kiln was 7 K short.
    crept = watched((0.0, 20.0), (5800.0, 593.0), (6500.0, 600.0), (7600.0, 600.0), (9280.0, 516.0), (9900.0, 516.0))
    seen = path((1, 0.0), (2, 6500.0), (3, 7650.0))
    crept.revise(seen, 8490.0)  # its end is not settled yet
    assert crept.found[1].start_s == 6020.0
    crept.revise(seen, 8560.0)
    assert crept.found[1].start_s == 5800.0
    assert crept.found[0].end_s == crept.found[1].start_s


def test_only_a_hold_begins_anew_by_the_clock_and_only_once(watched, monkeypatch):
    asked = []
    monkeypatch.setattr("daemon.firing.tracking.boundaries.start_by_clock",
                        lambda _trail, bend_s, _end_s, part, *_: asked.append(part.part) or bend_s)
    one = watched()
    for now_s in (12_000.0, 12_070.0, 12_140.0):
        one.revise(SEEN, now_s)
    assert asked == ["hold"]


def test_a_short_top_that_no_state_saw_is_put_between_climb_and_fall(watched):
    top = planned_parts(Plan("Top", "C", (Step(360.0, 600.0, 600.0), Step(180.0, 516.0, 3600.0))))
    one = watched((0.0, 20.0), (5800.0, 600.0), (6400.0, 600.0), (8080.0, 516.0), (9000.0, 516.0), parts=top)
    one.revise(path((1, 0.0), (3, 6400.0)), 8000.0)
    assert [(p.index, p.start_s) for p in one.found] == [(0, 0.0), (1, 5800.0), (2, 6400.0)]


def test_a_hold_between_two_climbs_is_not_put_in(watched):
    up = planned_parts(Plan("Up", "C", (Step(360.0, 600.0, 600.0), Step(180.0, 700.0), Step(None, 500.0))))
    touched = watched((0.0, 20.0), (5800.0, 600.0), (7800.0, 700.0), (9000.0, 600.0), parts=up)
    touched.revise(path((1, 0.0), (3, 5800.0)), 7000.0)
    assert [p.index for p in touched.found] == [0, 2]  # it never stood at 600 °C


def test_what_the_follower_takes_back_is_forgotten(watched):
    one = watched()
    one.revise(path((1, 0.0), (2, 5000.0)), 5200.0)
    assert len(one.found) == 2
    one.revise(path((1, 0.0)), 5300.0)
    assert told(one.found) == [(0, 1, "ramp", 0.0, None)]


def test_a_firing_that_ends_ends_its_open_part():
    closed, open_one = Part(0, 1, "ramp", 0.0, 100.0), Part(1, 1, "hold", 100.0)
    assert end_open_part((closed, open_one), 250.0) == (closed, replace(open_one, end_s=250.0))
    assert end_open_part((), 250.0) == ()


STAGED = planned_parts(Plan("Slump", "C", (
    Step(360.0, 600.0, 1800.0), Step(180.0, 516.0, 3600.0), Step(80.0, 461.0), Step(150.0, 400.0))))
"""SLUMP with two cooling steps: states 5 and 6."""


def test_a_fall_that_was_too_fast_for_a_while_ends_at_its_target_all_the_same(watched):
    # 200 °C/h for twelve minutes down to 476, then 80 as planned to 461 and 150 from there. The follower goes on to
    # the second step where that is near, long before the corner.
    one = watched(*RUN[:5], (13_600.0, 476.0), (14_275.0, 461.0), (15_739.0, 400.0), parts=STAGED)
    latest = path((1, 0.0), (2, 5900.0), (3, 7700.0), (4, 9400.0), (5, 12_960.0), (6, 13_900.0))
    for now_s in range(13_920, 15_700, 20):
        one.revise(latest, float(now_s))
    first, second = one.found[-2:]
    assert (first.step, second.step) == (3, 4)
    assert first.end_s == second.start_s == pytest.approx(14_275.0, abs=30.0)
    # 55 K in 1395 s.
    assert first.rate_c_per_h == pytest.approx(-55.0 / 1395 * 3600, rel=0.03)


@pytest.mark.parametrize(("shut", "is_found"), [([], False), ([(5790.0, 6240.0)], True)])
def test_a_look_as_the_top_begins_moves_neither_of_its_ends(watched, shut, is_found):
    parts = planned_parts(Plan("Slump", "C", (
        Step(360.0, 600.0, 1200.0), Step(180.0, 516.0, 3600.0), Step(60.0, 400.0))))
    one = watched((0.0, 20.0), (5790.0, 599.0), (5820.0, 470.0), (6000.0, 590.0), (6240.0, 600.0), (6600.0, 600.0),
                  (8280.0, 516.0), (9000.0, 516.0), parts=parts)
    one.revise(path((1, 0.0), (2, 6200.0), (3, 6640.0)), 7700.0, shut=shut)
    starts = [p.start_s for p in one.found[1:]]
    assert (starts == pytest.approx([5800.0, 6600.0], abs=60.0)) is is_found, starts
