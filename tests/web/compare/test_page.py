"""Firings laid together and told apart: figures against closed forms, words in order of weight."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from daemon.store import outcomes
from web.compare.differences import Compared, Size, _differ, rows, sentences
from web.compare.measures import crossing_s, falling_s, measures, process_c

# Up 240 K/h from 20 to 800, ten minutes there, down 480 K/h to 516, an hour there, down 60 K/h to 396.
CORNERS = [(0.0, 20.0), (11_700.0, 800.0), (12_300.0, 800.0), (14_430.0, 516.0), (18_030.0, 516.0), (25_230.0, 396.0)]


def _trace(corners=CORNERS, step=60.0):
    found, at = [], 0.0
    while at <= corners[-1][0]:
        (t0, c0), (t1, c1) = next((a, b) for a, b in pairwise(corners) if a[0] <= at <= b[0])
        found.append((at, c0 + (c1 - c0) * (at - t0) / (t1 - t0)))
        at += step
    return found


def test_figures_of_straight_lines_are_those_of_their_closed_forms():
    found = measures(_trace(), 516.0)
    assert found.peak_c == pytest.approx(800.0)
    assert found.at_top_s == pytest.approx(5 / 240 * 3600 + 600 + 5 / 480 * 3600, abs=1)
    assert found.above_s[760.0] == pytest.approx(40 / 240 * 3600 + 600 + 40 / 480 * 3600, abs=1)
    assert found.haze_rising_s == pytest.approx(60 / 240 * 3600, abs=1)
    assert found.haze_falling_s == pytest.approx(60 / 480 * 3600, abs=1)
    assert found.climb_c_per_h == pytest.approx(240.0)
    assert found.first_fall_c_per_h == pytest.approx(60.0, rel=0.01)
    assert found.next_fall_c_per_h == pytest.approx(60.0, rel=0.01)


def test_over_a_hole_nothing_is_counted():
    trace = [p for p in _trace() if not 11_000 < p[0] < 13_000]
    assert measures(trace, 516.0).above_s[760.0] < measures(_trace(), 516.0).above_s[760.0]


def test_firings_cross_into_their_process_shortly_before_the_lowest_top():
    level_c = process_c([804.0, 797.0])
    assert level_c == 750.0
    assert crossing_s(_trace(), level_c) == pytest.approx((750 - 20) / 240 * 3600)
    assert falling_s(_trace(), 516.0 + 1e-6) == pytest.approx(14_430.0, abs=60)
    assert crossing_s(_trace(), 900.0) is None


def _hotter():
    return [(t, c + 11.0 * (c > 700)) for t, c in _trace()]


def test_the_weightiest_differences_come_first_and_nothing_is_said_to_have_caused_anything():
    found = [Compared("First", measures(_trace(), 516.0), 516.0, 3600.0, "clear"),
             Compared("Second", measures(_hotter(), 516.0), 516.0, 3600.0, "haze")]
    [words] = sentences(found, "C")
    assert words.replace("\u00a0", " ").startswith("Second: 11 °C higher at the top")
    assert words.endswith("It went with haze; First with clear.")
    assert "caus" not in words
    fahrenheit = next(row for row in rows(found, "F") if row.name == "Highest")
    assert [d.replace("\u00a0", " ") for d in fahrenheit.differ] == ["", "20 °F higher"]


def test_two_alike_have_no_difference_worth_naming():
    found = [Compared(title, measures(_trace(), 516.0), 516.0, 3600.0) for title in ("One", "Other")]
    assert sentences(found, "C") == ("Other: no difference worth naming by these figures.",)


@pytest.mark.parametrize("by", ["process", "anneal", "clock", "start", "nonsense"])
def test_two_to_six_firings_are_laid_together(client, studio, by):
    for title in ("One", "Two", "Three"):
        studio.fill(until_s=40_000.0, ended=True, title=title)
    page = client.get(f"/compare?firing=1&firing=2&firing=3&firing=77&by={by}").text
    assert page.count('class="measured"') >= 6
    assert "need not have caused it" in page


def test_firings_of_a_glass_and_an_outcome_are_found_to_be_compared(client, studio):
    for title in ("Hazy", "Clear one"):
        number = studio.fill(until_s=30_000.0, ended=True, title=title)
        studio.store(lambda db, number=number, title=title: outcomes.add_outcome(
            db, firing_id=number, piece_id=number, words=["haze" if title == "Hazy" else "clear"], place="", note="",
            now_utc=studio.clock.wall))
    page = client.get("/compare?glass=90&outcome=haze").text
    assert "Hazy" in page
    assert "Clear one" not in page
    assert "Choose at least two" in client.get("/compare?firing=1").text


def test_a_piece_s_firings_are_compared_by_its_number(client, studio):
    studio.fill(until_s=30_000.0, ended=True)
    assert "Which firings?" in client.get("/compare?piece=1").text  # one firing is not enough


def _drawn(page):
    """Return the points of the first wide drawing's lines, and the words of its temperature axis."""
    wide = page.split('class="wide"')[1].split("</svg>")[0]
    strokes = [d for d in re.findall(r'class="measured" d="([^"]*)"', wide) if "L" in d]  # not the samples
    ticks = re.findall(r'text-anchor="end"[^>]*>(\d+)<', wide)
    return [len(re.findall(r"[ML]", stroke)) for stroke in strokes], ticks


def test_a_stretch_is_drawn_as_large_as_there_is_room_for(client, studio):
    for title in ("One", "Two"):
        studio.fill(until_s=40_000.0, ended=True, title=title)
    address = "/compare?firing=1&firing=2&by=start"
    whole, near = client.get(address).text, client.get(f"{address}&from=1&to=2").text
    (points, _), (few, ticks) = _drawn(whole), _drawn(near)
    assert all(0 < b < a / 5 for a, b in zip(points, few, strict=True))
    assert len(ticks) >= 2
    assert "All of it" in near
    assert "All of it" not in whole
    assert "Shown from +1\u00a0h to +2\u00a0h." in near
    assert "from=1.25" in near  # nearer, about the same middle


@pytest.mark.parametrize("stretch", ["from=x&to=1e400", "from=3&to=3", "from=9&to=2", "from=-999&to=999", "to=nan"])
def test_a_stretch_that_is_none_is_all_of_it(client, studio, stretch):
    for title in ("One", "Two"):
        studio.fill(until_s=40_000.0, ended=True, title=title)
    page = client.get(f"/compare?firing=1&firing=2&by=start&{stretch}")
    assert page.status_code == 200
    assert "All of it" not in page.text


def test_a_difference_is_that_of_the_two_figures_beside_it():
    # 83.6 and 146.4 are shown as 84 and 146; 62 lies between those, though 62.8 lies between the others.
    assert _differ(Size.RATE, 83.6, 146.4, "C") == "62 °C/h faster"
    assert _differ(Size.TIME, 629.0, 991.0, "C") == "7 min longer"  # 10 and 17 min


@pytest.mark.parametrize(("asked", "told"), [
    ("firing=1&firing=999", "One of those is no firing kept here."), ("firing=abc&firing=1", "One of those is no"),
    ("firing=1", "Choose at least two different ones."), ("firing=1&firing=1", "Choose at least two different ones."),
])
def test_a_choice_that_can_t_be_compared_is_said(client, studio, asked, told):
    studio.fill(until_s=40_000.0, ended=True)
    assert told in client.get(f"/compare?{asked}").text


def test_any_firing_can_be_chosen_and_what_is_ticked_stays_ticked_over_the_pages(client, studio, monkeypatch):
    monkeypatch.setattr("web.compare.page.PAGE", 2)
    numbers = [studio.fill(until_s=600.0, ended=True, title=f"Tile {n}") for n in range(5)]
    first = client.get("/compare").text
    assert 'name="page" value="2"' in first
    oldest = client.get(f"/compare?firing={numbers[4]}&page=3").text
    assert f'value="{numbers[0]}"' in oldest
    assert f'value="{numbers[4]}" checked' in oldest
    assert "Choose at least two" not in oldest
    both = client.get(f"/compare?firing={numbers[4]}&firing={numbers[0]}")
    assert "Which firings?" not in both.text
