"""A time of day is read in the ways in which people write one; what may mean two times is refused."""

from __future__ import annotations

from datetime import time

import pytest

from daemon.typed_time import HOW, read_time, times_in


@pytest.mark.parametrize(("typed", "hour", "minute"), [
    ("21:30", 21, 30), ("9:30", 9, 30), ("09:30", 9, 30), ("21.30", 21, 30), ("21:30:00", 21, 30),
    ("21h30", 21, 30), ("21 h 30 min", 21, 30), ("21h", 21, 0), ("9 h", 9, 0), ("21:30 h", 21, 30), ("2130", 21, 30),
    ("0930", 9, 30), ("21", 21, 0), ("24:00", 0, 0), ("0:05", 0, 5),
    ("9pm", 21, 0), ("9 pm", 21, 0), ("9\u00a0PM", 21, 0), ("9 p.m.", 21, 0), ("9:30pm", 21, 30), ("9.30 am", 9, 30),
    ("1 am", 1, 0), ("11 pm", 23, 0), ("12:30 pm", 12, 30), ("12:30 am", 0, 30),
    ("noon", 12, 0), ("Midnight", 0, 0), ("  8:00 ", 8, 0),
])
def test_the_ways_in_which_people_write_a_time(typed, hour, minute):
    assert read_time(typed) == (time(hour, minute), "")


@pytest.mark.parametrize(("typed", "told"), [
    ("9", "could be morning or evening. Write 09:00 or 21:00."),
    ("12", "could be morning or evening. Write 12:00 or 00:00."),
    ("0", "could be morning or evening. Write 00:00 or 12:00."),
    ("12 am", "could be noon or midnight. Write 12:00 for noon, 00:00 for midnight."),
    ("12pm", "could be noon or midnight. Write 12:00 for noon, 00:00 for midnight."),
    ("12:00 p.m.", "could be noon or midnight. Write 12:00 for noon, 00:00 for midnight."),
])
def test_what_may_mean_two_times_is_refused_with_both(typed, told):
    assert read_time(typed) == (None, told)


@pytest.mark.parametrize("typed", [
    "", "later", "half past nine", "25:00", "21:60", "24:30", "13pm", "0 am", "9h pm", "21:", "9.", "930", "9-30",
    "21:30:15", "21:30Z", "21:3", "-1", "1e3", "9p", "\u0662\u0661:\u0663\u0660", "21:00 23:00",
])
def test_anything_else_is_refused_with_how_to_write_it(typed):
    assert read_time(typed) == (None, f"is no time of day. {HOW}")


def test_each_way_of_writing_it_that_is_advised_can_be_read():
    assert [read_time(one)[0] for one in ("21:30", "9:30 pm")] == [time(21, 30)] * 2
    assert all(one in HOW for one in ("21:30", "9:30 pm"))


@pytest.mark.parametrize(("line", "times"), [
    ("21:00 23:00", [21, 23]), ("9 pm 11 pm", [21, 23]), ("9pm, 23:00;noon", [21, 23, 12]), ("21 h 23 h", [21, 23]),
    ("9 p.m. 11 P.M.", [21, 23]), ("9:00+22h", [9, 22]), ("", []), ("  8:00  ", [8]),
])
def test_a_line_may_hold_several_times(line, times):
    assert [read_time(one)[0] for one in times_in(line)] == [time(hour) for hour in times]
