"""Charts of firings over the months: by date, with few round ticks, and lines where a part was changed."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest

from web.drawing.dot_chart_svg import NARROW, WIDE, Axis, Change, Dot, dots_svg, figure
from web.drawing.overlay_svg import hours

STARTS = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
DEGREES = Axis("°C above or below plan", 12.0, base=0.0)


def _dots(values, every_days=10):
    return [Dot(STARTS + timedelta(days=every_days * n), value, "its figure") for n, value in enumerate(values)]


def _circles(drawn):
    return [(float(x), float(y)) for x, y in re.findall(r'class="tip" cx="([\d.]+)" cy="([\d.]+)"', drawn)]


def _ticks(drawn):
    return re.findall(r'text-anchor="end">([^<]*)</text>', drawn)


@pytest.mark.parametrize(("values", "said"), [((-0.3, -0.4, -0.2), "0"), ((-3.4, -2.8, -3.2), "−3")])
def test_a_figure_near_nothing_has_no_minus(values, said):
    drawn = dots_svg(_dots(values), (), DEGREES)
    assert f"latest {said}</title>" in drawn
    assert "−0" not in drawn
    assert "-0" not in drawn


@pytest.mark.parametrize(("value", "said"), [(0.0, "0"), (-0.2, "−0.2"), (0.5, "0.5"), (-5.0, "−5"), (120.0, "120")])
def test_ticks_are_said_as_they_are(value, said):
    assert figure(value) == said


def test_dots_stand_by_their_dates():
    dots = [Dot(STARTS + timedelta(days=days), value, "a") for days, value in ((0, 1.0), (10, 2.0), (40, 3.0))]
    (x0, y0), (x1, y1), (x2, y2) = _circles(dots_svg(dots, (), DEGREES))
    assert (x1 - x0) / (x2 - x0) == pytest.approx(0.25, abs=0.02)
    assert y0 - y1 == pytest.approx(y1 - y2, abs=0.2)  # even steps upwards
    assert y0 > y1 > y2


@pytest.mark.parametrize("values", [(0.1, 0.2, 0.3), (3.0, -40.0, 11.0), (100.0, 101.0, 99.0), (1e4, 2e4, 3e4)])
def test_ticks_are_few_and_round_and_enclose_every_dot(values):
    drawn = dots_svg(_dots(values), (), Axis("x", 0.1))
    ticks = [float(word.replace("−", "-")) for word in _ticks(drawn)]
    assert 2 <= len(ticks) <= 6
    assert ticks[0] <= min(values)
    assert max(values) <= ticks[-1]
    steps = {round(b - a, 9) for a, b in pairwise(ticks)}
    assert len(steps) == 1
    assert f"{steps.pop():e}"[0] in "125"


def test_a_hair_s_difference_is_drawn_as_one():
    ys = [y for _, y in _circles(dots_svg(_dots((0.0, 0.6, -0.6)), (), DEGREES))]
    assert max(ys) - min(ys) < 0.15 * WIDE[1]


def test_energy_begins_at_nought_and_shows_its_spread():
    dots = [Dot(dot.when, 12.0, "12 kWh", 10.0, 15.0) for dot in _dots((1, 2, 3))]
    drawn = dots_svg(dots, (), Axis("kWh", 4.0, from_zero=True))
    assert _ticks(drawn) == ["0", "5", "10", "15"]
    low, high = re.findall(r'class="spread" d="M[\d.]+ ([\d.]+)V([\d.]+)"', drawn)[0]
    assert float(low) > _circles(drawn)[0][1] > float(high)


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_a_change_is_a_line_at_its_day_with_its_word(size):
    dots = _dots((1.0, 2.0, 3.0, 2.0))
    drawn = dots_svg(dots, [Change(date(2026, 3, 21), "new elements")], DEGREES, size)
    [x] = re.findall(r'class="ink-line"[^>]* d="M([\d.]+) ', drawn)
    assert float(x) == pytest.approx(_circles(drawn)[2][0], abs=size[0] / 60)  # the third dot's day, at noon
    assert ">new elements</text>" in drawn


def test_changes_long_before_are_left_out_and_words_never_lie_over_each_other():
    changes = [Change(date(2019, 1, 1), "new elements"), Change(date(2026, 3, 11), "new thermocouple"),
               Change(date(2026, 3, 12), "new elements")]
    drawn = dots_svg(_dots((1.0, 2.0, 3.0, 2.0)), changes, DEGREES, NARROW)
    assert drawn.count('class="ink-line"') == 2
    assert ">new thermocouple<" in drawn
    assert ">new elements<" not in drawn  # its line stands; the table and the list say what it is


@pytest.mark.parametrize("size", [WIDE, NARROW])
@pytest.mark.parametrize("every_days", [0, 1, 9, 40])
def test_everything_stays_on_the_sheet(size, every_days):
    change = Change(date(2026, 2, 25), "new thermocouple")
    drawn = dots_svg(_dots([1.0, -3.0] * 15, every_days), [change], DEGREES, size)
    for x, y in _circles(drawn):
        assert 40 < x <= size[0] - 12
        assert 30 < y < size[1] - 20
    for x, words in re.findall(r'class="word" x="([\d.]+)"[^>]*>([^<]*)<', drawn):
        assert float(x) + 7.7 * len(words) <= size[0]


def test_the_last_date_is_not_cut_at_the_edge():
    dots = [Dot(datetime(2026, 11, day, 12, tzinfo=UTC), 1.0, "") for day in (17, 21, 25)]
    drawn = dots_svg(dots, (), DEGREES, WIDE)
    (middle,) = re.findall(r'x="([\d.]+)"[^>]*text-anchor="middle">25 Nov<', drawn)
    assert float(middle) + 23.0 <= WIDE[0]  # DejaVu Sans at 13 px: 46 px


def test_words_of_the_owner_can_do_nothing_to_the_drawing():
    drawn = dots_svg([Dot(STARTS, 1.0, '<b>&"')] * 3, [Change(STARTS.date(), "<i>")], DEGREES)
    assert "<b>" not in drawn
    assert "<i>" not in drawn


def test_the_zero_of_a_comparison_is_not_before_itself():
    said = [hours(t_s).replace("\u00a0", " ") for t_s in (-10.0, 0.0, -5400.0, 5400.0)]
    assert said == ["+0 h", "+0 h", "−1.5 h", "+1.5 h"]


def test_a_limit_is_dashed_where_it_stands_and_marks_below_it_can_be_open():
    dots = [Dot(STARTS, 4.0, "a", is_open=True), Dot(STARTS + timedelta(days=9), 14.0, "b")]
    drawn = dots_svg(dots, (), Axis("°C over", 12.0, base=0.0, limit=10.0))
    (dashed,) = re.findall(r'stroke-dasharray="3 3" d="M[\d.]+ ([\d.]+)H', drawn)
    (_, filled), = _circles(drawn)
    (opened,) = re.findall(r'class="tip open" x="[\d.]+" y="([\d.]+)"', drawn)
    assert filled < float(dashed) < float(opened)
    assert "10" in _ticks(drawn)
    lone = dots_svg(dots[:1], (), Axis("°C over", 12.0, base=0.0, limit=100.0))  # also far above all dots
    (dashed,) = re.findall(r'stroke-dasharray="3 3" d="M[\d.]+ ([\d.]+)H', lone)
    assert float(dashed) > 20
