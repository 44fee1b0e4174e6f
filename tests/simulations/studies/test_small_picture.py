"""A firing as a small picture: where things lie, and what is drawn of them."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from daemon.firing.events import Sample
from simulations.studies.small_picture import HEIGHT, PAD, WIDTH, Level, Picture, Tick, sheet

SAMPLES = [Sample(60.0 * n, 500.0 + n % 20) for n in range(120)]


def drawn(**more):
    return "".join(Picture("one", SAMPLES, **more).svg())


def test_a_wake_is_heavy_and_a_look_is_not():
    svg = drawn(ticks=[Tick("restarted", 600.0, True), Tick("not-cooling", 1200.0, False)])
    assert re.findall(r'v12" stroke="[^"]+" stroke-width="(\d)"', svg) == ["3", "1"]
    assert "restarted" in svg
    assert "not-cooling" in svg


def test_only_five_alerts_are_named():
    svg = drawn(ticks=[Tick(f"kind-{n}", 600.0, False) for n in range(7)])
    assert svg.count("v12") == 7
    assert re.findall(r"kind-\d", svg) == [f"kind-{n}" for n in range(5)]


def test_the_axis_begins_at_the_lowest_and_has_round_figures():
    svg = drawn(has_axes=True, lowest_c=490.0)
    assert re.findall(r">(\d:\d\d)<", svg) == ["0:00", "0:30", "1:00", "1:30"]
    assert re.findall(r'font-size="9" fill="[^"]+">(\d+)<', svg) == ["490", "500", "510"]
    lowest = max(float(y) for y in re.findall(r"V(\d+\.\d)", svg))
    assert lowest < HEIGHT - PAD  # 500 °C lies above the foot
    assert ">0:30<" not in drawn()


def test_a_level_beyond_the_stretch_is_left_out_and_one_across_its_edge_is_cut():
    assert "H" not in drawn(levels=[Level(-600.0, -60.0, 505.0)])
    assert f"H{WIDTH - PAD}" in drawn(levels=[Level(3600.0, 99_999.0, 505.0)])


def test_a_firing_without_readings_has_its_heading_only():
    blind = "".join(Picture("blind", [Sample(0.0, None, "open"), Sample(5.0, None, "open")]).svg())
    assert "blind" in blind
    assert "<path" not in blind


def test_pictures_stand_side_by_side():
    root = ElementTree.fromstring(sheet(["<g/>", "<g/>", "<g/>"], "Three & more", 2))
    assert root.get("width") == str(2 * WIDTH)
    assert [group.get("transform") for group in root if "translate" in group.get("transform", "")] == [
        "translate(0 40)", f"translate({WIDTH} 40)", f"translate(0 {40 + HEIGHT})"]
