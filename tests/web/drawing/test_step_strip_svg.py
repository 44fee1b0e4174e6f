"""A cell says what it has room for, and nothing half."""

from __future__ import annotations

import re

from web.drawing.colours import DAY
from web.drawing.step_strip_svg import LOW, Cell, strip_svg

LINES = ("asked 516", "got 512", "58 of 60 min")


def _strip(cell: Cell, width: int = 1080) -> str:
    return strip_svg([cell], 36_000, width, DAY, "s", 64, 10)


def test_a_wide_cell_says_everything():
    drawing = _strip(Cell(0, 18_000, "been", LINES, "516"))
    assert drawing.count("<text") == 3
    assert ">58 of 60 min</text>" in drawing


def test_a_narrow_cell_says_its_temperature_only():
    drawing = _strip(Cell(0, 1_500, "been", LINES, "516"))
    assert drawing.count("<text") == 1
    assert ">516</text>" in drawing


def test_a_sliver_says_nothing_but_on_demand_it_says_all():
    drawing = _strip(Cell(0, 300, "been", LINES, "516"))
    assert "<text" not in drawing
    assert "<title>asked 516, got 512, 58 of 60 min</title>" in drawing


def test_only_the_part_under_way_has_an_edge():
    assert 'class="edge"' in _strip(Cell(0, 18_000, "now", LINES, "516", now_s=900))
    assert 'class="edge"' not in _strip(Cell(0, 18_000, "to come", LINES, "516"))


def test_a_stretch_of_the_firing_shows_only_its_cells_on_the_axis_of_the_plot():
    cells = [Cell(0, 3600, "been", ("first",)), Cell(3600, 7200, "been", ("second",)),
             Cell(7200, 10_800, "been", ("third",))]
    drawn = strip_svg(cells, 3600, 674, DAY, "s", 64, 10, from_s=1800)
    assert "first" in drawn
    assert "third" not in drawn
    # 600 px show an hour: the second cell begins half an hour in, at 64 + 300.
    assert 'x="364.0" y="1"' in drawn


def test_a_low_strip_has_one_line_of_words_and_no_word_in_its_hatching():
    drawn = strip_svg([Cell(0, 18_000, "been", LINES, "516", anneal=True)], 36_000, 360, DAY, "s", 44, 10, height=LOW)
    assert drawn.count("<text") == 1
    base_px, hatched_px = (float(re.search(found, drawn)[1]) for found in (
        r'<text[^>]* y="([\d.]+)"', r'<rect x="44.0" y="([\d.]+)"'))
    assert base_px + 3 < hatched_px  # 3 px: what letters have below their base line
    assert f'viewBox="0 0 360 {LOW + 2}"' in drawn
