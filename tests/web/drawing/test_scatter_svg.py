from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from web.drawing.dot_chart_svg import NARROW, WIDE, Axis
from web.drawing.scatter_svg import Mark, sample_svg, scatter_svg

ACROSS, UP = Axis("minutes above 760 °C", 10.0, from_zero=True), Axis("peak, °C", 20.0)
MARKS = (Mark(20.0, 801.0, "first", is_open=True), Mark(20.0, 815.0, "second & <last>", is_open=False),
         Mark(41.0, 801.0, "third", is_open=True))


def _at(drawing):
    """Return where each mark stands [px], by its number."""
    found = {}
    for mark in ElementTree.fromstring(drawing).iter():
        if "data-dot" in mark.attrib:
            at = [float(mark.attrib[name]) for name in (("x", "y") if "x" in mark.attrib else ("cx", "cy"))]
            found[int(mark.attrib["data-dot"])] = [value + 4 for value in at] if "x" in mark.attrib else at
    return found


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_marks_stand_by_both_figures_and_inside(size):
    drawing = scatter_svg(MARKS, ACROSS, UP, "three firings", size)
    (x0, y0), (x1, y1), (x2, y2) = (_at(drawing)[number] for number in range(3))
    assert x0 == x1 < x2
    assert y0 == y2 > y1
    width, height = (float(v) for v in re.search(r'viewBox="0 0 (\d+) (\d+)"', drawing).groups())
    assert all(8 <= x <= width - 8 and 20 <= y <= height - 46 for x, y in _at(drawing).values())


def test_a_mark_stands_where_its_ticks_say():
    drawing = ElementTree.fromstring(scatter_svg(MARKS, ACROSS, UP, "three firings"))
    texts = [(t.text, float(t.attrib["x"]), float(t.attrib["y"]), t.attrib.get("text-anchor"))
             for t in drawing.iter("{http://www.w3.org/2000/svg}text")]
    ticks = {float(text): x for text, x, _, anchor in texts if anchor == "middle"}
    x0 = _at(ElementTree.tostring(drawing, encoding="unicode"))[0][0]
    assert x0 == pytest.approx(ticks[0] + (ticks[20] - ticks[0]) * 20 / 20, abs=0.1)
    assert min(ticks) == 0  # time begins at nought


def test_open_and_filled_differ_in_shape_and_words_are_text():
    drawing = scatter_svg(MARKS, ACROSS, UP, "three & more")
    assert drawing.count("<rect ") == 2
    assert drawing.count("<circle ") == 1
    assert "second &amp; &lt;last&gt;" in drawing
    assert "three &amp; more" in drawing
    assert "<rect " in sample_svg(is_open=True)
    assert "<circle " in sample_svg(is_open=False)
    assert "data-dot" not in sample_svg(is_open=True)


def test_one_firing_alone_is_drawn():
    assert len(_at(scatter_svg(MARKS[:1], ACROSS, UP, "one"))) == 1
