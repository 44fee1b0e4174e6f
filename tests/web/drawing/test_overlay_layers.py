"""Firings in seconds from a common zero."""

from __future__ import annotations

import pytest

from web.drawing.overlay_layers import Layer, cut, hours, shifted, whole
from web.drawing.step_strip_svg import Cell

LAYER = Layer("A", [(0.0, 20.0, 20.0, 20.0), (3600.0, 200.0, 200.0, 200.0), (7200.0, None, None, None)],
              [Cell(0.0, 3600.0, "been", ()), Cell(3600.0, 7200.0, "now", (), now_s=7000.0)])


def test_a_layer_is_shifted_with_its_cells_and_loses_the_moving_edge():
    found = shifted(LAYER, 3600.0)
    assert [column[0] for column in found.columns] == [-3600.0, 0.0, 3600.0]
    assert [(cell.start_s, cell.end_s, cell.now_s) for cell in found.cells] == [(-3600, 0, None), (0, 3600, None)]


def test_a_stretch_cuts_columns_and_the_cells_that_reach_out_of_it():
    found = cut(LAYER, 1800.0, 5400.0)
    assert [column[0] for column in found.columns] == [3600.0]
    assert [(cell.start_s, cell.end_s) for cell in found.cells] == [(1800, 3600), (3600, 5400)]
    assert not cut(LAYER, 7300.0, 9000.0).cells


def test_the_whole_is_from_the_first_to_the_last_second_and_an_hour_at_least():
    assert whole([LAYER, shifted(LAYER, 600.0)]) == (-600.0, 7200.0)
    assert whole([Layer("B", [(0.0, 20.0, 20.0, 20.0)])]) == (0.0, 3600.0)
    assert whole([]) == (0.0, 3600.0)


@pytest.mark.parametrize(("t_s", "said"), [(5400, "+1.5 h"), (-900, "−0.25 h"), (0, "+0 h"), (-10, "+0 h")])
def test_a_time_from_the_zero_is_said_with_its_sign(t_s, said):
    assert hours(t_s) == said.replace(" ", "\u00a0")
