"""The drawing of several firings: names, dashes, the haze range, and as few points as show it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from web.drawing.overlay_layers import Layer
from web.drawing.overlay_svg import overlay_svg
from web.drawing.trace_svg import NARROW, WIDE


def layers(count, top_c=800.0):
    found = []
    for n in range(count):
        columns = [(60.0 * m, c, c, c) for m in range(600)
                   for c in [max(30.0, top_c - abs(60.0 * m - 12_000 - 1500 * n) * (0.06 - 0.004 * n))]]
        found.append(Layer(f"Tile {'ABCDEF'[n]} <of six>", columns))
    return found


@pytest.mark.parametrize("size", [WIDE, NARROW])
@pytest.mark.parametrize("count", [2, 3, 6])
def test_each_firing_has_a_line_of_its_own_and_its_letter_and_title_at_it(size, count):
    drawn = overlay_svg(layers(count), "C", "760 °C, climbing", size, "x")
    ET.fromstring(drawn)
    strokes = re.findall(r'class="measured"[^>]*fill="none" stroke="[^"]*" ([^>]*) stroke-linejoin', drawn)
    assert len(set(strokes)) == count
    letters = re.findall(r'halo label"[^>]*><tspan font-weight="650">([A-F])</tspan>', drawn)
    assert sorted(letters) == list("ABCDEF"[:count])


def test_straight_runs_take_a_few_points():
    points = re.search(r'class="measured" d="([^"]*)"', overlay_svg(layers(1), "C", "0", NARROW, "x")).group(1)
    assert len(re.findall("[ML]", points)) < 20  # of 600 columns


def test_the_haze_range_is_named_where_it_is_in_sight():
    assert "haze range" in overlay_svg(layers(2), "C", "0", WIDE, "x")
    assert "haze range" not in overlay_svg(layers(2, 640.0), "C", "0", WIDE, "x")
    near = overlay_svg(layers(2), "C", "0", WIDE, "x", (15_500.0, 16_500.0))
    assert "haze range" not in near  # both are below 700 °C there


def test_a_gap_is_drawn_as_a_gap():
    one = layers(1)[0]
    holed = Layer("A", [(t, *((None,) * 3 if 9000 < t < 12_000 else rest)) for t, *rest in one.columns])
    path = re.search(r'class="measured" d="([^"]*)"', overlay_svg([holed], "C", "0", NARROW, "x")).group(1)
    assert path.count("M") == 2


def test_the_zero_is_a_bare_0_in_tenths_of_an_hour_too():
    drawn = overlay_svg(layers(2), "C", "0", WIDE, "x", (-1800.0, 3600.0))
    assert ">0<" in drawn
    assert "+0\u00a0h" not in drawn


def test_the_axis_says_its_unit_and_never_over_a_tick():
    for unit in "CF":
        drawn = overlay_svg(layers(2), unit, "0", WIDE, "x")
        assert f">°{unit}<" in drawn
    for from_s in range(6000, 16_000, 500):
        drawn = overlay_svg(layers(2), "C", "0", NARROW, "x", (from_s, from_s + 3000.0))
        ys = [float(y) for y in re.findall(r'x="38" y="([\d.]+)" text-anchor="end"', drawn)]
        assert all(abs(a - b) > 9 for i, a in enumerate(ys) for b in ys[i + 1:])


TITLES = ("Rain tiles, set of six, full fuse", "Tide-pool bowl, slump", "Dune",
          "Twelve-millimetre casting in a mould with an unusually long name, third try")


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_a_name_stands_whole_or_not_at_all(size):
    named = [replace(layer, title=title) for layer, title in zip(layers(4), TITLES, strict=True)]
    drawn = overlay_svg(named, "C", "0", size, "x")
    labels = [re.sub(r"<tspan x[^>]*>", " ", label) for label in re.findall(r'halo label"[^>]*>(.*?)</text>', drawn)]
    said = {re.sub("<[^>]*>", "", label) for label in labels}
    assert said <= {f"{letter} {title}" for letter, title in zip("ABCD", TITLES, strict=True)} | set("ABCD")
    assert {"C Dune", "D"} <= said  # the long name stands above the drawing
    assert "A Rain tiles, set of six, full fuse" in said or size is NARROW
