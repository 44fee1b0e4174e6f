"""Figures of firings, as they are said, and which of them differ by more than one probe can tell."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.units import Units
from web.compare.figures import NOT_SEEN, Compared, Size, difference, figure_rows, span
from web.compare.measures import Measures

BASE = Measures(
    peak_c=800.0, peak_s=12_000.0, at_top_s=720.0,
    above_s={540.0: 9000.0, 620.0: 7200.0, 700.0: 3600.0, 760.0: 1500.0}, haze_rising_s=900.0, haze_falling_s=420.0,
    climb_c_per_h=220.0, first_fall_c_per_h=80.0,
    next_fall_c_per_h=150.0, length_s=50_000.0)
C, F = Units("C"), Units("F")


def firing(title="A", outcome=(), anneal_c=516.0, anneal_s=3600.0, **changes):
    return Compared(title, replace(BASE, **changes), anneal_c, anneal_s, outcome)


def plain(text):
    return text.replace("\u00a0", " ")


def row(found, name, unit="C"):
    return next(row for row in figure_rows(found, unit) if plain(row.name).startswith(name))


def test_a_difference_is_that_of_the_two_figures_beside_it():
    # 83.6 and 146.4 are shown as 84 and 146; 62 lies between those, though 62.8 lies between the others.
    assert plain(difference(Size.RATE, 83.6, 146.4, C)) == "62 °C/h faster"
    assert plain(difference(Size.TIME, 629.0, 991.0, C)) == "7 min more"  # 10 and 17 min
    assert plain(difference(Size.TEMPERATURE, 798.6, 790.4, C)) == "9 °C lower"  # 799 and 790


@pytest.mark.parametrize(("size", "first", "value"), [
    (Size.TEMPERATURE, 800.0, 802.9), (Size.TIME, 600.0, 779.0), (Size.TIME, 7200.0, 7900.0), (Size.RATE, 80.0, 87.0),
    (Size.TIME, None, 900.0), (Size.RATE, 80.0, None)])
def test_what_one_probe_could_not_tell_is_no_difference(size, first, value):
    assert difference(size, first, value, C) == ""


def test_all_of_a_row_are_the_same_only_if_no_two_differ():
    near = [firing(peak_c=797.5), firing(peak_c=800.0), firing(peak_c=802.4)]
    assert not row(near, "Highest").is_same  # the first and the last are 4.9 K apart
    assert row(near[:2], "Highest").is_same
    assert plain(row(near[:2], "Highest").span) == "798 to 800 °C"


def test_a_figure_that_one_firing_does_not_show_is_said_and_is_not_the_same():
    found = row([firing(), firing(anneal_c=None, anneal_s=None)], "Anneal hold, how long")
    assert found.cells[1] == NOT_SEEN
    assert not found.is_same


def test_a_figure_that_no_firing_shows_is_left_out():
    assert not [r for r in figure_rows([firing(anneal_c=None)] * 2, "C") if r.name == "Anneal hold, how hot"]


def test_one_unit_is_used_throughout():
    found = figure_rows([firing(), firing(peak_c=811.0, climb_c_per_h=110.0)], "F")
    said = " ".join(text for r in found for text in (r.name, *r.cells, *r.differ))
    assert "°C" not in said
    assert [plain(text) for text in row([firing(), firing(peak_c=811.0)], "Highest", "F").differ] == [
        "", "20 °F higher"]  # 1472 and 1492
    assert row([firing()] * 2, "Haze range going up", "F").name == "Haze range going up, 1292 to 1400\u00a0°F"


@pytest.mark.parametrize(("size", "values", "said"), [
    (Size.TIME, [840.0, 1020.0], "14 to 17 min"), (Size.TIME, [840.0, 4020.0], "14 min to 1 h 07 min"),
    (Size.TIME, [0.0, 600.0], "none to 10 min"), (Size.TEMPERATURE, [790.2, 789.9], "790 °C"),
    (Size.TIME, [3660.0, 7260.0], "1 h 01 min to 2 h 01 min"), (Size.RATE, [51.0, 84.0], "51 to 84 °C/h")])
def test_several_figures_are_said_as_one(size, values, said):
    assert plain(span(size, values, C)) == said
