"""How long it was how hot, for traces of straight pieces whose seconds are reckoned here."""

from __future__ import annotations

import pytest

from daemon.glass.exposure import ABOVE_C, BURN_OFF_C, HAZE_C, SQUEEZE_C, Exposure


@pytest.fixture
def fired() -> Exposure:
    """Return a firing: 20 to 820 °C in 8000 s, 600 s there, 200 s of a dip to 810 and back, down again in 4000 s."""
    exposure, here_c = Exposure([300.0]), 20.0
    for to_c, step_s in ((820.0, 8000.0), (820.0, 600.0), (810.0, 100.0), (820.0, 100.0), (20.0, 4000.0)):
        exposure.advance(here_c, to_c, step_s)
        here_c = to_c
    return exposure


def test_the_seconds_above_what_is_always_asked_and_what_was_asked_besides(fired: Exposure) -> None:
    # Up 10 s and down 5 s a degree, and 800 s at the top.
    expected = {limit_c: (820.0 - limit_c) * 15.0 + 800.0 for limit_c in (300.0, *ABOVE_C)}
    assert fired.above_s == pytest.approx(expected)
    assert ABOVE_C == (540.0, 620.0, 700.0, 760.0)  # their names stand in the JSON
    assert fired.peak_c == 820.0


@pytest.mark.parametrize("range_c", [HAZE_C, SQUEEZE_C, BURN_OFF_C])
def test_the_seconds_in_a_range_before_the_peak_and_after(fired: Exposure, range_c: tuple[float, float]) -> None:
    width_k = range_c[1] - range_c[0]
    assert fired.rising_s(range_c) == pytest.approx(10.0 * width_k)
    assert fired.falling_s(range_c) == pytest.approx(5.0 * width_k)


def test_the_ranges_are_those_of_the_trade() -> None:
    # common practice
    assert (HAZE_C, SQUEEZE_C, BURN_OFF_C) == ((700.0, 760.0), (600.0, 677.0), (260.0, 480.0))


def test_an_edge_itself_is_not_above_itself() -> None:
    exposure = Exposure()
    exposure.advance(760.0, 760.0, 100.0)
    assert (exposure.above_s[760.0], exposure.above_s[700.0], exposure.rising_s(HAZE_C)) == (0.0, 100.0, 100.0)
    exposure.advance(700.0, 700.0, 50.0)
    assert (exposure.above_s[700.0], exposure.falling_s(HAZE_C)) == (100.0, 0.0)


def test_only_what_came_before_the_highest_is_on_the_way_up() -> None:
    exposure = Exposure()
    for from_c, to_c in ((690.0, 750.0), (750.0, 720.0), (720.0, 755.0), (755.0, 755.0), (755.0, 690.0)):
        exposure.advance(from_c, to_c, 60.0)
    assert exposure.rising_s(HAZE_C) == pytest.approx(50.0 + 60.0 + 60.0)
    assert exposure.falling_s(HAZE_C) == pytest.approx(60.0 + 60.0 * 55.0 / 65.0)
