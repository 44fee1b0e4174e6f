"""What brick and glass may still have under air that stepped down, reading by reading."""

import pytest

from daemon.firing.detection.steps.heat_under_air import HeatUnderAir, air_fell_from_c
from daemon.firing.trace.recent import Trail


def under(*readings, began_s=100.0, every_s=5.0):
    """Return the heat under a step from 600 to 500 °C, and whether it was still followed after each reading."""
    heat = HeatUnderAir(began_s, 100.0, 500.0)
    return heat, [heat.follow(began_s + (1 + i) * every_s, temp_c) for i, temp_c in enumerate(readings)]


def test_the_kiln_has_what_the_air_had_before_the_step():
    assert HeatUnderAir(100.0, 100.0, 500.0).kiln_c == 600.0


def test_while_the_step_goes_on_it_only_gets_deeper():
    assert under(480.0, 450.0)[0].kiln_c == pytest.approx(600.0)


def test_what_falls_later_is_the_kiln_that_falls():
    heat, _ = under(*[500.0] * 16)  # 80 s: beyond the 75 in which the step goes on
    heat.follow(200.0, 490.0)
    assert heat.kiln_c == pytest.approx(590.0)


def test_while_it_stands_its_greatest_depth_counts_and_it_ends_by_nothing_else():
    heat, _ = under()
    heat.stands(120.0, 490.0)
    assert heat.kiln_c == 610.0
    assert heat.follow(50_000.0, 480.0)


@pytest.mark.parametrize(("comes_back_to_c", "until_s"), [(549.0, 100.0 + 660.0 + 900.0), (551.0, 110.0 + 900.0)])
def test_it_counts_until_a_quarter_of_an_hour_after_half_of_it_has_come_back(comes_back_to_c, until_s):
    heat, _ = under(500.0, comes_back_to_c)
    assert heat.follow(until_s - 1.0, comes_back_to_c)
    assert not heat.follow(until_s + 1.0, comes_back_to_c)


@pytest.mark.parametrize(("every_s", "is_told"), [(5.0, True), (30.0, False), (45.0, False), (120.0, False)])
def test_a_fall_of_air_is_told_where_two_minutes_are_read_closely(every_s, is_told):
    trail = Trail()
    for number in range(round(1200.0 / every_s) + 1):
        t_s = number * every_s
        temp_c = 600.0 - max(0.0, t_s - 960.0) / 3
        trail.offer(t_s, temp_c)
    asked_s = (t_s, t_s + every_s / 2, t_s + every_s)  # up to a whole step after the last reading
    assert any(air_fell_from_c(at_s, temp_c, trail) is not None for at_s in asked_s) is is_told
