"""Moments by the clock on the wall, in the nights in which it is changed.

Europe/Berlin is changed at 01:00 UTC of the last Sundays of March and October (Directive 2000/84/EC): in 2026 on
29 March, when 02:00 becomes 03:00, and on 25 October, when 03:00 becomes 02:00.
"""

from __future__ import annotations

from datetime import UTC, datetime, time
from itertools import islice, pairwise
from zoneinfo import ZoneInfo

import pytest

from daemon.wall_clock import deadlines, later, machine_zone, next_time

BERLIN = ZoneInfo("Europe/Berlin")


def berlin(day, month, hour, minute=0, fold=0):
    return datetime(2026, month, day, hour, minute, tzinfo=BERLIN, fold=fold)


@pytest.mark.parametrize(("start", "hours", "shown"), [
    (berlin(28, 3, 22), 8, "07:00"), (berlin(24, 10, 22), 8, "05:00"), (berlin(24, 10, 22), 5, "02:00"),
    (berlin(24, 10, 22), 4, "02:00"), (berlin(28, 3, 22), 4, "03:00"), (berlin(1, 6, 22), 8, "06:00"),
    (berlin(29, 3, 7), -8, "22:00"),
])
def test_the_clock_shows_an_hour_else_after_a_change(start, hours, shown):
    found = later(start, 3600.0 * hours)
    assert f"{found:%H:%M}" == shown
    assert found.timestamp() - start.timestamp() == 3600.0 * hours


@pytest.mark.parametrize(("now", "at", "in_h"), [
    (berlin(28, 3, 22), time(8), 9), (berlin(24, 10, 22), time(8), 11), (berlin(1, 6, 22), time(8), 10),
    (berlin(1, 6, 7), time(8), 1), (berlin(1, 6, 8), time(8), 24), (berlin(28, 3, 9), time(8), 22),
    (berlin(24, 10, 22), time(2, 30), 4.5),  # the first of two
    (berlin(25, 10, 2, 45), time(2, 30), 24.75),  # the second one is not taken for another day
    (berlin(28, 3, 22), time(2, 30), 4.5),  # 03:30 by the new time
])
def test_the_next_time_is_the_next_moment_at_which_the_clock_shows_it(now, at, in_h):
    assert (next_time(at, now).timestamp() - now.timestamp()) / 3600 == in_h


def test_a_deadline_in_the_hour_that_is_left_out_or_shown_twice_is_the_earlier_moment():
    found = [next(deadlines(time(2, 30), now)).astimezone(UTC) for now in (berlin(28, 3, 22), berlin(24, 10, 22))]
    assert [f"{one:%d %H:%M}" for one in found] == ["29 00:30", "25 00:30"]


def test_deadlines_come_a_day_after_another_by_the_clock():
    found = list(islice(deadlines(time(8), berlin(28, 3, 7)), 3))
    assert [f"{one:%d %H:%M}" for one in found] == ["28 08:00", "29 08:00", "30 08:00"]
    assert [(b.timestamp() - a.timestamp()) / 3600 for a, b in pairwise(found)] == [23, 24]


def test_the_computers_own_zone_knows_its_offset():
    assert datetime(2026, 6, 1, tzinfo=machine_zone()).utcoffset() is not None
