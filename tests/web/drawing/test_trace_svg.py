"""The drawing says what the readings say: no bridge over a gap, no dip lost, nothing but well-formed SVG."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ElementTree
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from daemon.firing.events import Alert, Rank, Sample, Text
from daemon.glass.materials import FAMILIES
from web.drawing.step_strip_svg import Cell
from web.drawing.trace_model import Mark, Picture, bands, free_runs, picture_of
from web.drawing.trace_svg import NARROW, WIDE, svg

SVG = "{http://www.w3.org/2000/svg}"
PLAN = ((0.0, 20.0), (3600.0, 520.0), (7200.0, 520.0))


def draw_svg(samples, plan_points, alerts, glass, size=WIDE, theme="day"):
    return svg(picture_of(samples, plan_points, alerts, glass), size, theme)


def _strokes(drawing: str) -> list[tuple[str, float, float]]:
    path = re.search(r'<path class="measured" d="([^"]*)"', drawing)
    if path is None:
        return []
    return [(m[0], float(m[1]), float(m[2])) for m in re.findall(r"([ML])([\d.]+) ([\d.]+)", path[1])]


def _ramp(until_s: int = 7200) -> list[Sample]:
    return [Sample(float(t), 20.0 + t / 20) for t in range(0, until_s + 1, 5)]


def test_a_gap_lifts_the_pen_and_nothing_is_drawn_inside_it():
    samples = [s for s in _ramp() if not 2000 < s.t_s < 4000]
    drawing = draw_svg(samples, PLAN, (), None)
    strokes = _strokes(drawing)
    assert [kind for kind, _, _ in strokes].count("M") == 2
    left, right = 64, WIDE[0] - 10
    inside = [x for _, x, _ in strokes if 2050 < (x - left) / (right - left) * 7200 < 3950]
    assert inside == []


def test_a_fault_lifts_the_pen_even_for_one_reading():
    samples = [s if s.t_s != 3000 else Sample(3000.0, None, "open") for s in _ramp()]
    assert [kind for kind, _, _ in _strokes(draw_svg(samples, (), (), None))].count("M") == 2


def test_a_single_dip_in_two_days_of_readings_is_still_in_the_drawing():
    samples = [Sample(5.0 * i, 516.0 if i != 20_000 else 300.0) for i in range(34_560)]
    ys = [y for _, _, y in _strokes(draw_svg(samples, (), (), None))]
    top_c, height = 516.0 * 1.06, WIDE[1]
    assert max(ys) > (height - 46) - (height - 56) * 310 / top_c


def test_the_band_holds_what_is_within_its_tolerance_and_not_what_is_beyond():
    hold = bands(Picture(plan=PLAN))[1]
    temps = [c for _, c in hold]
    assert (min(temps), max(temps)) == (514.0, 526.0)


def test_a_part_that_asks_for_no_rate_gets_no_band():
    assert len(bands(Picture(plan=PLAN, free=((0.0, 3600.0),)))) == 1


def test_an_alert_is_a_shape_as_well_as_a_colour_and_has_its_words():
    text = Text("", "", "")
    alerts = [
        Alert(1, "cooling-too-fast", Rank.WAKE, 100, 130, text, woke_s=140),
        Alert(2, "hold-off-target", Rank.LOOK, 200, 230, text),
        Alert(3, "firing-stopped", Rank.WAKE, 150, 200, text, under="cooling-too-fast"),
    ]
    drawing = ElementTree.fromstring(draw_svg(_ramp(), PLAN, alerts, None))
    titles = [t.text for t in drawing.iter(f"{SVG}title")]
    assert titles[1:] == ["cooling too fast", "hold too hot or too cold"]
    assert len(drawing.findall(f".//{SVG}rect[@class='wake']")) == 1
    assert drawing.find(f".//{SVG}rect[@class='look']").get("stroke-width") is not None


def test_the_annealing_range_is_hatched_where_the_glass_has_it():
    glass = FAMILIES["90"]
    drawing = ElementTree.fromstring(draw_svg(_ramp(17_000), (), (), glass))
    hatched = [r for r in drawing.iter(f"{SVG}rect") if r.get("fill") == "url(#trace-hatch)"]
    px_per_c = (WIDE[1] - 56) / (870.0 * 1.06)
    assert abs(float(hatched[0].get("height")) - (glass.band_high_c - glass.band_low_c) * px_per_c) < 0.2


def test_hostile_words_stay_words():
    mark = Mark(10.0, None, "wake", '</title><script>alert("x")</script>')
    cell = Cell(0, 3600, "now", ("<b>asked</b>", "&"), now_s=100)
    drawing = svg(Picture(columns=((0, 1, 1, 1), (3000, 9, 9, 9)), marks=(mark,), cells=(cell,)))
    assert "<script" not in drawing
    assert "<b>" not in drawing
    ElementTree.fromstring(drawing)


def test_days_are_counted_by_the_wall_clock_of_the_owner():
    starts = datetime(2026, 3, 3, 18, 20, tzinfo=ZoneInfo("Europe/Berlin"))
    drawing = svg(Picture(columns=((0, 20, 20, 20), (40_000, 500, 500, 500)), starts=starts))
    assert "day 1, Tue 3 Mar" in drawing
    assert "day 2, Wed 4 Mar" in drawing


def test_a_plan_alone_is_called_a_plan():
    drawn = svg(Picture(plan=((0, 20), (3600, 640), (7200, 40))))
    assert "<title>The plan as written; highest 640 °C.</title>" in drawn
    assert "<title>The trace of the firing; no reading yet.</title>" in svg(
        Picture(plan=((0, 20), (3600, 640)), running=True))


def test_a_spike_is_drawn_but_is_not_the_peak():
    columns = [(0, 500.0, 500.0, 500.0), (60, 500.0, 501.0, 640.0), (120, 500.0, 500.0, 500.0)]
    assert "highest 501 °C" in svg(Picture(columns=columns))
    assert "highest 502 °C" in svg(Picture(columns=columns, peak_c=502.0))


def test_an_empty_firing_still_makes_a_drawing():
    ElementTree.fromstring(draw_svg([], (), (), None))
    blind = [Sample(0.0, None, "open")]
    ElementTree.fromstring(draw_svg(blind, (), (), FAMILIES["float"], (360, 300), "night"))


def test_a_steep_ramp_is_a_line_and_not_a_stair():
    samples = [Sample(float(t), 20.0 + t / 10) for t in range(0, 7200, 5)]  # 360 °C/h
    strokes = _strokes(draw_svg(samples, (), (), None))
    xs = [x for _, x, _ in strokes]
    assert 2 <= len(strokes) < 12  # drawn from some 900 columns; a straight line takes few of them
    assert all(b > a for a, b in itertools.pairwise(xs))
    left, right, top, bottom = 64, WIDE[0] - 10, 10, WIDE[1] - 46
    for _, x, y in strokes:
        temp_c = 20.0 + (x - left) / (right - left) * 7195 / 10
        assert abs(y - (bottom - temp_c / (739.5 * 1.06) * (bottom - top))) < 0.5


def test_ordinary_noise_does_not_thicken_the_line():
    samples = [Sample(5.0 * i, 516.0 + (-1) ** i, None, 514.5, 517.5) for i in range(10_000)]
    xs = [x for _, x, _ in _strokes(draw_svg(samples, (), (), None))]
    assert len(xs) == len(set(xs))


def test_a_planned_free_fall_is_drawn_as_a_kiln_falls():
    # Newton's law through (0 s, 520 °C) and (2 h, 145 °C) in a room of 20 °C passes 270 °C half-way:
    # 20 + √(500 · 125).
    runs = free_runs(Picture(plan=[(0.0, 520.0), (7200.0, 145.0)], free=[(0.0, 7200.0)]))
    assert runs[0][0] == (0.0, 520.0)
    assert runs[-1][1][1] == pytest.approx(145.0)
    assert next(c for (_, _), (t, c) in runs if t == pytest.approx(3600.0)) == pytest.approx(270.0)


def test_a_plan_by_itself_is_an_ink_line_and_dots_where_it_is_free():
    picture = Picture(plan=((0.0, 20.0), (3600.0, 620.0), (7200.0, 620.0), (9000.0, 100.0)), free=((7200.0, 9000.0),))
    drawn = svg(picture)
    [line] = re.findall(r'<path class="planned alone" d="([^"]*)"', drawn)
    assert line.count("M") == 2  # the climb and the hold, not the free fall
    assert 'class="free alone"' in drawn


def test_the_plan_under_what_was_measured_is_a_line_and_not_only_a_band():
    drawn = draw_svg(_ramp(), PLAN, (), None)
    [line] = re.findall(r'<path class="planned" d="([^"]*)"', drawn)
    assert line.count("M") == 2
    assert re.search(r'<polygon class="band".*<path class="planned".*<path class="measured"', drawn)


def _names_and_bands(drawing: str) -> tuple[list[tuple[str, float]], list[tuple[float, float]]]:
    """Return the names of ranges with the middle of their letters, and the bands' upper and lower edges [px]."""
    names = [(words, float(y) - 4) for y, words in re.findall(
        r'<text class="grey halo" x="[\d.]+" y="([\d.]+)"[^>]*>([^<]*)<', drawing)]
    bands_px = [(float(y), float(y) + float(high)) for y, high in re.findall(
        r'<rect x="\d+" y="([\d.]+)" width="[\d.]+" height="([\d.]+)" fill="url\(#trace-(?:dots|hatch)\)"', drawing)]
    return names, bands_px


@pytest.mark.parametrize("size", [WIDE, NARROW])
@pytest.mark.parametrize(("top_c", "named"), [
    (655.0, ["anneal range"]), (672.0, ["anneal range"]), (690.0, ["haze range", "anneal range"]),
    (704.0, ["haze range", "anneal range"]), (800.0, ["haze range", "anneal range"]),
])
def test_a_range_is_named_only_where_its_band_can_be_seen(size, top_c, named):
    # 672 °C: the axis ends at 672 · 1.06 = 712 °C, and 12 of the haze range's 60 K would be a line.
    samples = [Sample(float(t), 20.0 + (top_c - 20.0) * t / 7200) for t in range(0, 7201, 60)]
    names, bands_px = _names_and_bands(draw_svg(samples, (), (), FAMILIES["90"], size))
    assert [words for words, _ in names] == named
    assert all(above <= y <= max(below, 10 + 7) for (_, y), (above, below) in zip(names, bands_px, strict=True))


def test_no_band_leaves_the_plot():
    samples = [Sample(float(t), 20.0 + t / 10) for t in range(0, 7001, 60)]  # to 720 °C, in the haze range
    _, bands_px = _names_and_bands(draw_svg(samples, (), (), FAMILIES["90"]))
    assert min(above for above, _ in bands_px) == 10.0  # where the plot begins


def test_the_name_of_a_range_stands_where_no_line_runs_and_over_any_line():
    """A hold in the anneal range to the very end: its name stands at the left, where the kiln was cold."""
    glass = FAMILIES["90"]
    middle_c = (glass.band_low_c + glass.band_high_c) / 2
    samples = [Sample(float(t), 20.0 if t < 7200 else middle_c) for t in range(0, 36_000, 60)]
    drawing = draw_svg(samples, (), (), glass)
    x = float(re.search(r'class="grey halo" x="([\d.]+)"[^>]*>anneal range', drawing)[1])
    assert x < WIDE[0] / 3
    assert drawing.index(">anneal range<") > drawing.index('class="measured"')
