"""On a phone the strip tells in words what was, what is and what comes; of an ended firing, its holds."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from html import unescape
from zoneinfo import ZoneInfo

from web.drawing.step_strip_svg import Cell
from web.drawing.strip_words import strip_words, told

STARTS = datetime(2026, 3, 2, 20, 0, tzinfo=ZoneInfo("Europe/Berlin"))
CLIMB = Cell(0, 3600, "been", ("to 670", "asked 650/h", "got 640/h"))
SQUEEZE = Cell(3600, 5400, "been", ("asked 670", "got 671", "30 of 30 min"), is_hold=True)
RISE = Cell(5400, 7200, "been", ("to 800",))
TOP = Cell(7200, 7800, "been", ("asked 800", "got 802", "10 of 10 min"), is_hold=True)
ANNEAL = Cell(9000, 12_600, "now", ("asked 516", "got 512", "20 of 60 min"), is_hold=True, now_s=10_200)
FALL = Cell(12_600, 16_200, "to come", ("to 461", "asked 55/h"))
REST = Cell(16_200, 20_000, "to come", ("to 40", "free"))


def plain(html: str) -> list[str]:
    lines = [re.sub("<[^>]*>", "", line) for line in html.split("</p>") if line]
    return [unescape(line).replace("\u00a0", " ") for line in lines]


def test_a_running_firing_tells_the_last_part_the_present_one_and_the_next_by_the_clock():
    assert plain(strip_words([CLIMB, SQUEEZE, RISE, TOP, ANNEAL, FALL, REST], STARTS)) == [
        "22:00 asked 800, got 802, 10 of 10 min",
        "22:30 Now: asked 516, got 512, 20 of 60 min",
        "23:30 Next: to 461, asked 55/h",
    ]


def test_one_that_broke_off_tells_where_and_when_and_nothing_as_if_it_went_on():
    stopped = replace(ANNEAL, end_s=10_200, state="been", now_s=None, broke_off=True)
    assert plain(strip_words([CLIMB, SQUEEZE, RISE, TOP, stopped], STARTS)) == [
        "22:00 asked 800, got 802, 10 of 10 min",
        "22:50 Broke off: asked 516, got 512, 20 of 60 min",
    ]


def test_before_its_first_part_it_tells_what_comes():
    assert told([FALL, REST]) == (FALL,)


def test_an_ended_firing_tells_its_last_holds_and_one_without_any_its_ramps():
    assert told([CLIMB, SQUEEZE, RISE, TOP]) == (SQUEEZE, TOP)
    assert told([CLIMB, RISE]) == (CLIMB, RISE)
    holds = [Cell(n, n + 1, "been", (str(n),), is_hold=True) for n in range(5)]
    assert told(holds) == tuple(holds[2:])


def test_words_of_a_plan_are_words_and_no_markup():
    assert "&lt;b&gt;" in strip_words([Cell(0, 1, "been", ("<b>",))], STARTS)
