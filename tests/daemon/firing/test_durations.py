"""Lengths of time in words: each form at the edges where it changes."""

from __future__ import annotations

import pytest

from daemon.firing.durations import (
    duration,
    firing_clock,
    hours_minutes,
    minutes_of,
    seconds_or_minutes,
    time_left,
    whole_minutes,
)


@pytest.mark.parametrize(("seconds", "words"), [
    (-5.0, "0 s"), (0.0, "0 s"), (45.4, "45 s"), (59.4, "59 s"), (60.0, "1 min"), (90.1, "2 min"), (3540.0, "59 min"),
    (3600.0, "1 h 00 min"), (11_100.0, "3 h 05 min"), (47 * 3600.0, "47 h 00 min"), (52 * 3600.0, "2 days 4 h"),
])
def test_a_length_is_said_as_a_tired_reader_takes_it_in(seconds: float, words: str) -> None:
    assert duration(seconds) == words


@pytest.mark.parametrize(("seconds", "words"), [
    (0.0, "0 min"), (89.0, "1 min"), (5400.0, "90 min"), (-120.0, "-2 min"),
])
def test_minutes_stay_minutes_so_that_two_lengths_can_be_compared(seconds: float, words: str) -> None:
    assert whole_minutes(seconds) == words


def test_a_part_is_said_of_its_whole() -> None:
    assert minutes_of(3500.0, 3600.0) == "58 of 60 min"


@pytest.mark.parametrize(("seconds", "words"), [(0.0, "0 s"), (119.0, "119 s"), (120.0, "2 min"), (5400.0, "90 min")])
def test_a_short_length_is_said_in_seconds(seconds: float, words: str) -> None:
    assert seconds_or_minutes(seconds) == words


@pytest.mark.parametrize(("seconds", "length", "moment"), [
    (0.0, "0:00", "0:00"), (1770.0, "0:30", "0:29"), (5400.0, "1:30", "1:30"), (90_000.0, "25:00", "25:00"),
])
def test_a_length_is_rounded_and_a_moment_is_cut_to_the_minute(seconds: float, length: str, moment: str) -> None:
    assert (hours_minutes(seconds), firing_clock(seconds)) == (length, moment)


def test_a_moment_before_the_start_has_a_sign() -> None:
    assert firing_clock(-300.0) == "-0:05"


@pytest.mark.parametrize(("seconds", "words"), [
    (0.0, "Do this now."), (59.0, "Do this now."), (60.0, "About 1 min left."),
    (1500.0, "About 25 min left."), (7200.0, "About 2 h 00 min left."),
])
def test_less_than_a_minute_is_no_time_left(seconds: float, words: str) -> None:
    assert time_left(seconds) == words
