"""Figures are said plainly, in the owner's unit."""

from __future__ import annotations

import pytest

from web import words


@pytest.mark.parametrize(("rate", "unit", "said"), [
    (54.4, "C", "climbing 54 °C/h"), (-54.4, "C", "falling 54 °C/h"), (100, "F", "climbing 180 °F/h"),
    (3.0, "C", "steady"), (-3.9, "C", "steady"), (None, "C", ""),
])
def test_what_the_temperature_does(rate, unit, said):
    assert words.movement(rate, unit) == said


def test_no_temperature_is_never_a_zero():
    assert words.temp(None, "C") == "–"
    assert words.temp(0.0, "F") == "32"
    assert words.temp(-0.4, "C") == "0"


def test_a_figure_is_not_parted_from_its_unit():
    assert words.bound("112 °C/h, planned 55, for 30 min") == "112\u00a0°C/h, planned 55, for 30\u00a0min"
    assert words.bound("no 5 holds here") == "no 5 holds here"
