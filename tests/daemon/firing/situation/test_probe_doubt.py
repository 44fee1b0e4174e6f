"""Which readings are believed: falls that kilns make, falls that none makes, and what the watches say."""

from __future__ import annotations

from itertools import pairwise
from math import exp

import pytest

from daemon.firing.situation.probe_doubt import Cause, FalseReading, ProbeDoubt
from daemon.firing.trace.gaps import Gap


def read(doubt: ProbeDoubt, *corners: tuple[float, float], every_s: float = 5.0) -> ProbeDoubt:
    """Give readings on straight lines between corners (s, °C)."""
    for (from_s, from_c), (to_s, to_c) in pairwise(corners):
        count = round((to_s - from_s) / every_s)
        for n in range(1, count + 1):
            doubt.see(from_s + every_s * n, from_c + (to_c - from_c) * n / count)
    return doubt


def hot(temp_c: float = 663.0) -> ProbeDoubt:
    return read(ProbeDoubt(), (0.0, 20.0), (7200.0, temp_c), (7500.0, temp_c))


def test_a_fall_to_the_room_within_seconds_is_no_kilns_and_stands_for_days() -> None:
    doubt = read(hot(), (7500.0, 663.0), (7515.0, 22.0), (300_000.0, 22.0))
    stretch = doubt.present
    assert stretch is not None
    assert (stretch.cause, stretch.from_c) == (Cause.FELL, pytest.approx(663.0, abs=450.0))
    assert 7500.0 < stretch.since_s <= 7520.0


def test_a_probe_that_is_put_back_is_believed_again() -> None:
    doubt = read(hot(), (7500.0, 663.0), (7515.0, 22.0), (9000.0, 22.0), (9060.0, 600.0), (9600.0, 590.0))
    assert doubt.present is None
    (stretch,) = doubt.stretches(())
    assert stretch.to_s is not None
    assert 9000.0 < stretch.to_s < 9060.0
    assert stretch.highest_after_c == pytest.approx(600.0, abs=1.0)


@pytest.mark.parametrize("keeps", [0.3, 0.5, 0.9])
def test_the_air_under_an_open_lid_is_believed(keeps: float) -> None:
    """The air falls at once to a share of what the kiln has above the room, and comes back."""
    doubt = read(hot(), (7500.0, 663.0), (7560.0, 20.0 + keeps * 643.0), (8700.0, 20.0 + keeps * 643.0 * 0.75),
                 (8760.0, 560.0))
    assert doubt.stretches(()) == ()


@pytest.mark.parametrize("time_h", [1.0, 5.0])
def test_a_closed_kiln_that_cools_to_the_room_is_believed(time_h: float) -> None:
    doubt = hot()
    for t_s in range(7500, 7500 + 30 * 3600, 60):
        doubt.see(float(t_s), 20.0 + 643.0 * exp(-(t_s - 7500) / 3600 / time_h))
    assert doubt.stretches(()) == ()


def test_a_fall_across_a_gap_counts_the_time_of_the_gap() -> None:
    """Half an hour of any kiln is not enough to come from 663 to 22 °C; a night is."""
    for gap_h, believed in ((0.5, False), (10.0, True)):
        from_s = 7500.0 + gap_h * 3600
        doubt = read(hot(), (from_s, 22.0), (from_s + 120.0, 22.0))
        assert (doubt.present is None) is believed


def test_a_spike_is_no_failure() -> None:
    doubt = hot()
    for t_s in (7505.0, 7510.0, 7515.0):
        doubt.see(t_s, 0.5)
    read(doubt, (7515.0, 663.0), (7600.0, 663.0))
    assert doubt.stretches(()) == ()


def test_a_cool_kilns_probe_that_is_pulled_out_is_told_but_ends_by_itself() -> None:
    """From 180 °C even the slowest kiln is cold within a day: ln(0.25 · 160 / 3) · 5 h are 13 h."""
    doubt = read(hot(180.0), (7500.0, 180.0), (7510.0, 23.0), (20_000.0, 23.0), every_s=10.0)
    assert doubt.present is not None
    read(doubt, (20_000.0, 23.0), (7500.0 + 14 * 3600, 23.0), every_s=60.0)
    assert doubt.present is None


def test_what_a_watch_finds_false_is_not_believed_from_where_it_began() -> None:
    doubt = read(hot(516.0), (7500.0, 516.0), (7700.0, 516.0))
    for n in range(10):
        doubt.tell(FalseReading(Cause.FROZEN, 516.0), 7500.0)
        doubt.see(7705.0 + 5.0 * n, 516.0)
    assert doubt.present is not None
    assert (doubt.present.since_s, doubt.present.cause) == (7500.0, Cause.FROZEN)
    doubt.see(7755.0, 515.0)
    (stretch,) = doubt.stretches(())
    assert (stretch.to_s, stretch.to_c) == (7755.0, 515.0)


def test_after_ten_frozen_hours_a_cold_reading_is_believed() -> None:
    doubt = hot(516.0)
    for t_s in range(7505, 7505 + 36_000, 60):
        doubt.tell(FalseReading(Cause.FROZEN, 516.0), 7500.0)
        doubt.see(float(t_s), 516.0)
    read(doubt, (43_505.0, 30.0), (44_000.0, 30.0))
    assert doubt.present is None


def test_a_hole_that_lasts_is_a_stretch_too() -> None:
    over, lasting = Gap(100.0, 400.0, 500.0, 480.0), Gap(900.0, 2000.0, 450.0, None)
    assert [(one.cause, one.since_s, one.to_s) for one in ProbeDoubt().stretches((over, lasting))] == [
        (Cause.BLIND, 100.0, 400.0), (Cause.BLIND, 900.0, None)]


@pytest.mark.parametrize(("hottest_c", "for_s", "is_false"), [
    (1395.0, 3600.0, False),  # as hot as heating wire may be: a runaway, and believed
    (1405.0, 0.0, False),  # for half a minute
    (1405.0, 60.0, True),
])
def test_readings_that_climb_where_no_kiln_is_have_a_false_scale_to_the_end(hottest_c, for_s, is_false):
    doubt = read(ProbeDoubt(), (0.0, 20.0), (7200.0, hottest_c), (7200.0 + for_s, hottest_c),
                 (7205.0 + for_s, 1300.0), (20000.0, 300.0))
    assert doubt.is_scale_false is is_false


def test_a_reading_that_jumps_where_no_kiln_is_says_nothing_of_the_scale_however_long_it_stays() -> None:
    doubt = read(ProbeDoubt(), (0.0, 20.0), (7200.0, 660.0), (7205.0, 1500.0), (9000.0, 1500.0), (9010.0, 1390.0),
                 (9020.0, 1500.0), (9100.0, 1500.0))
    assert not doubt.is_scale_false
    read(doubt, (9100.0, 1500.0), (9105.0, 700.0), (13_000.0, 1450.0), (13_100.0, 1450.0))
    assert doubt.is_scale_false  # back, and climbed there: the table is wrong as well
    assert 12_000.0 < doubt.scale_false_since_s < 13_000.0


@pytest.mark.parametrize(("in_s", "back_for_s", "is_false"), [
    (5.0, 60.0, False),
    (5.0, 20.0, True),  # a spike downwards
    (120.0, 60.0, True),  # by a type S table a lid that opens takes 300 K off within minutes
])
def test_a_scale_is_right_after_all_once_the_readings_jump_back_and_stay(in_s, back_for_s, is_false):
    doubt = read(ProbeDoubt(), (0.0, 20.0), (7200.0, 1405.0), (7260.0, 1405.0))
    assert doubt.is_scale_false
    read(doubt, (7260.0, 1405.0), (7260.0 + in_s, 815.0), (7260.0 + in_s + back_for_s, 815.0),
         (7265.0 + in_s + back_for_s, 1405.0))
    assert doubt.is_scale_false is is_false


def test_a_scale_that_is_false_from_a_firings_first_reading_is_believed_false() -> None:
    assert read(ProbeDoubt(), (0.0, 1410.0), (60.0, 1410.0)).is_scale_false
