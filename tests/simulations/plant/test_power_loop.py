"""The PID law and the contactor, by figures that can be worked out by hand."""

from __future__ import annotations

import pytest

from simulations.plant.power_loop import PowerLoop, Tuning

BARE = Tuning(band_k=20.0, integral_s=1e12, derivative_s=0.0, feed_per_k=0.0, cycle_s=5.0)
"""Proportional alone; a cycle as long as a step, so that the duty is what was wanted."""


def duties(loop: PowerLoop, temps_c: list[float], set_point_c: float = 500.0) -> list[float]:
    return [loop.duty(5.0 * n, 5.0, set_point_c, temp_c) for n, temp_c in enumerate(temps_c)]


@pytest.mark.parametrize(("here_c", "duty"), [(495.0, 0.25), (490.0, 0.5), (470.0, 1.0), (505.0, 0.0)])
def test_power_grows_with_the_error_over_the_proportional_band(here_c, duty):
    assert duties(PowerLoop(BARE, 20.0), [here_c]) == pytest.approx([duty])


def test_a_climbing_sensor_takes_power_off_ahead():
    loop = PowerLoop(Tuning(band_k=20.0, integral_s=1e12, derivative_s=30.0, feed_per_k=0.0, cycle_s=5.0), 20.0)
    # Error 10 K is half; 0.1 K/s over 30 s of derivative time and a band of 20 K is 0.15 of it less.
    assert duties(loop, [489.5, 490.0])[1] == pytest.approx(0.5 - 0.15, abs=1e-6)


def test_the_learned_feed_holds_a_kiln_without_any_error():
    loop = PowerLoop(Tuning(band_k=20.0, integral_s=1e12, derivative_s=0.0, feed_per_k=5e-4, cycle_s=5.0), 20.0)
    assert duties(loop, [500.0]) == pytest.approx([5e-4 * 480.0])


def test_the_integral_doubles_a_lasting_error_after_its_time():
    loop = PowerLoop(Tuning(band_k=20.0, integral_s=600.0, derivative_s=0.0, feed_per_k=0.0, cycle_s=5.0), 20.0)
    found = duties(loop, [498.0] * 121)  # error 2 K is 0.1; after 600 s the integral has added as much again
    assert found[0] == pytest.approx(0.1)
    assert found[120] == pytest.approx(0.2)
    loop.forget()
    assert loop.duty(605.0, 5.0, 500.0, 498.0) == pytest.approx(0.1)


def test_a_saturated_loop_does_not_wind_up():
    loop = PowerLoop(Tuning(band_k=20.0, integral_s=600.0, derivative_s=0.0, feed_per_k=0.0, cycle_s=5.0), 20.0)
    assert duties(loop, [100.0] * 200)[-1] == 1.0
    assert loop.duty(1000.0, 5.0, 500.0, 498.0) == pytest.approx(0.1), "as if it had just begun"


def test_a_cycle_is_on_for_its_duty_and_the_duty_changes_only_with_the_next():
    loop = PowerLoop(Tuning(band_k=20.0, integral_s=1e12, derivative_s=0.0, feed_per_k=0.0, cycle_s=30.0), 20.0)
    found = duties(loop, [490.0] + [499.0] * 5 + [492.5] * 6)  # half of 30 s; then 0.375 of it
    assert found == pytest.approx([1, 1, 1, 0, 0, 0, 1, 1, 0.25, 0, 0, 0])


def test_an_idle_controller_remembers_where_the_sensor_was_and_nothing_of_its_duty():
    loop = PowerLoop(Tuning(band_k=20.0, integral_s=1e12, derivative_s=30.0, feed_per_k=0.0, cycle_s=60.0), 20.0)
    assert loop.duty(0.0, 5.0, 500.0, 490.0) == pytest.approx(1.0)
    loop.idle(490.0)
    assert loop.duty(10.0, 5.0, 500.0, 490.0) == 0.0, "its cycle goes on, without power"


def test_a_switch_goes_on_below_and_off_above_its_hysteresis_and_not_oftener_than_its_cycle():
    loop = PowerLoop(Tuning(hysteresis_k=3.0, cycle_s=10.0), 20.0)
    #        on       kept    off     kept   on
    temps = [496.0, 499.0, 504.0, 498.0, 496.0]
    assert duties(loop, temps) == [1.0, 1.0, 0.0, 0.0, 1.0]
    quick = PowerLoop(Tuning(hysteresis_k=3.0, cycle_s=60.0), 20.0)
    assert duties(quick, [496.0, 504.0, 504.0]) == [1.0, 1.0, 1.0], "the cycle is not over"
