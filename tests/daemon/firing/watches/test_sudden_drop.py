"""A step down, as a finding and in words; what is a step is tested beside daemon.firing.detection.step_down."""

from __future__ import annotations

import pytest

from daemon.firing.detection.step_down import Drop
from daemon.firing.events import Rank
from daemon.firing.speaker import CLOSE_LID, ELECTRIC, Speaker
from daemon.firing.watches.sudden_drop import KIND, SuddenDrop, sudden_drop


def drop(**fields):
    return Drop(100.0, 800.0, 700.0, 95.0, stays=False, not_air=False)._replace(**fields)


@pytest.mark.parametrize(("stays", "rank"), [(False, Rank.LOOK), (True, Rank.WAKE)])
def test_a_step_is_a_look_and_a_wake_once_it_stays(reading_of, stays, rank):
    found = sudden_drop(reading_of(130.0, 700.0, drop=drop(stays=stays)))
    assert (found.kind, found.rank, found.since_s, found.severity_c) == (KIND, rank, 100.0, 95.0)
    assert found.facts == SuddenDrop(800.0, 700.0, 95.0, stays)


def test_without_a_step_and_where_the_sensor_failed_there_is_none(reading_of):
    assert sudden_drop(reading_of(130.0, 700.0)) is None
    assert sudden_drop(reading_of(130.0, 25.0, drop=drop(temp_c=25.0, stays=True, not_air=True))) is None


def told(reading_of, **fields):
    return KIND.words(sudden_drop(reading_of(130.0, 700.0, drop=drop(**fields))), Speaker("C", 6.0))


def test_a_step_names_its_depth(reading_of):
    step = told(reading_of)
    assert step.what == "Lid open or sensor fell out? 700 °C, was 800 °C."
    assert CLOSE_LID in step.do
    assert ELECTRIC in step.do
    assert told(reading_of, stays=True).what.endswith("The reading has not come back.")


def test_a_drop_that_may_be_a_vent_has_nine_minutes_to_become_a_wake():
    assert KIND.rises_within_s == 540.0
