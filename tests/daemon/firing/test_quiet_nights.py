"""Firings with nothing wrong that once woke somebody, fired whole: one for each mended rule, and one label."""

from __future__ import annotations

import pytest

from simulations.studies.scoring import score
from simulations.studies.study import case_named


@pytest.fixture
def scored(made_once):
    """Return a function: the score of a firing by its name, worked out once."""
    return lambda name: made_once(("scored", name), lambda: score(case_named(name)))


@pytest.mark.parametrize("name", [
    "clean-1141000710",  # at two changes of step it sags by 24 K and climbs on: "power off?"
    "clean-1141000041",  # two looks inside at the top, by one reading a minute: "power is back"
    "clean-1141000170",  # the air under a vent, and then a controller's first tooth: "kiln reheats"
    "harsh-1141000089",  # a vent that was shut after eight minutes, seen far below: "lid open"
    "clean-1142000450",  # the teeth of an on/off controller at its anneal, 30 K deep: "climbs where it should cool"
    "clean-1142000584",  # the same by one reading a minute
    "clean-1143000560",  # a reading that has crept up to its anneal, and stands there: "anneal ended after 37 min"
    "clean-1142000096",  # it creeps back to an anneal that is read 11 K high, as no hold had shown: "kiln reheats"
    "clean-1142000317",  # the same, where the top of a weak kiln was read 20 K too low
    "clean-1142000646",  # an anneal that is read 9 K higher than the holds above it: "power is back"
    "clean-1141000920",  # a fall from so cool a top that it showed no free fall
    "clean-1142000346",  # all holds read 23 K too high: "too hot"
    "clean-1142000253",  # the same by 25 K, so that the first hold was not recognised
    "clean-1142000931",  # a first hold that moved by 8 K as it settled
    "clean-1141000290",  # a climb that stops 3 K short of the limit
    "clean-1142000475",  # 25 mm: a sag of 12 K as the slow ramp begins: "cooling too fast"
    "harsh-1143000199",  # a reading that creeps down all through its anneal: "anneal was skipped"
    "clean-1143000579",  # the same by 16 K, by an on/off controller
    "harsh-1143000077",  # the same by 14 K, under hum
    "clean-1143000218",  # a controller that lets its ramp begin 7 K too low, and then keeps to it
    "clean-1142000000",  # a heavy kiln whose fall slackens above its anneal: "anneal was skipped"
    "clean-1142000668",  # two looks inside at the top, on its way back six minutes after the second: "kiln reheats"
    "clean-1143000470",  # a top that sags by 25 K and creeps back for a quarter of an hour: "power is back"
    "clean-1144000513",  # a vent in the free fall, and a reading that comes back beyond its anneal: "kiln reheats"
    "clean-1143000257",  # a vent that is shut four minutes into the free fall: "kiln climbs where it should cool"
    "clean-1144000786",  # 25 mm, read every 20 s: a dip of 12 K, worth a wake for one beat
    "clean-1144000520",  # a kick of 6 K at its last step, at 390 °C: "climbs where it should cool", for a beat
    "clean-1144000293",  # it stands for half an hour after its hold and then gathers pace: "climbs too slowly"
    "harsh-1143000106",  # a vent that is shut just after a gap in the readings: "power was off"
])
def test_nothing_was_wrong_and_nobody_is_woken(scored, name):
    found = scored(name)
    assert found.is_as_meant
    assert found.wakes == ()


@pytest.mark.parametrize("name", [
    "clean-1143000068",  # elements off for some minutes as the ramp begins: a dip of 11 K, and then as planned
    "harsh-1142000107",  # a climb that sags by 31 K at a change of step
])
def test_a_top_that_was_truly_too_long_does_not_make_another_wake_true(scored, name):
    found = scored(name)
    assert not found.is_as_meant
    assert found.wakes == ()


@pytest.mark.parametrize("name", [
    "clean-1141000199",  # 44 min of ten
    "clean-1143000150",  # 39 min of eleven, in the last of which two looks inside cooled it
    "clean-1143000737",  # 43 min of thirteen, likewise
])
def test_glass_that_is_at_its_top_for_far_longer_than_planned_is_not_as_meant(scored, name):
    found = scored(name)
    assert not found.is_as_meant
    assert [kind for kind, _ in found.wakes] == ["hold-overrun"]


def test_a_top_of_18_minutes_by_one_reading_a_minute_is_not_counted_from_the_climb(scored):
    assert "hold-overrun" not in [kind for kind, _ in scored("clean-1141000628").wakes]


def test_a_hold_whose_beginning_is_forgotten_is_not_told_two_hours_later_to_have_been_short(scored):
    """A reading that crept up to its anneal for half an hour; read every 20 s, that is remembered for two hours."""
    assert "hold-cut-short" not in [kind for kind, _ in scored("clean-1144000963").wakes]
