"""Ticks stand on round hours of the owner's clock, through summer time too."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from web.drawing.scales import day_marks, temp_ticks, time_ticks

BERLIN = ZoneInfo("Europe/Berlin")


def test_ticks_fall_on_the_clock_and_not_on_the_start():
    ticks = time_ticks(datetime(2026, 3, 3, 18, 20, tzinfo=BERLIN), 6 * 3600, 8)
    assert [(t.t_s, t.words) for t in ticks[:2]] == [(2400.0, "19:00"), (6000.0, "20:00")]


def test_the_night_summer_time_begins_has_no_two_o_clock():
    # EU summer time began on 29 March 2026 at 01:00 UTC: 02:00 became 03:00.
    ticks = time_ticks(datetime(2026, 3, 29, 0, 0, tzinfo=BERLIN), 5 * 3600, 12)
    hours = [t.words for t in ticks if t.words.endswith(":00")]
    assert "02:00" not in hours
    assert [t.t_s for t in ticks if t.words == "03:00"] == [2 * 3600]


def test_the_second_day_of_that_night_begins_23_hours_after_the_first():
    marks = day_marks(datetime(2026, 3, 29, 0, 0, tzinfo=BERLIN), 86400)
    assert marks[1].t_s == 23 * 3600
    assert marks[1].words == "day 2, Mon 30 Mar"


@pytest.mark.parametrize("span_s", [60, 3600, 86_400, 10 * 86_400, 60 * 86_400])
@pytest.mark.parametrize("starts", [None, datetime(2026, 3, 3, 18, 20, 17, tzinfo=BERLIN)])
def test_there_are_never_more_ticks_than_room(span_s, starts):
    assert len(time_ticks(starts, span_s, 6)) <= 7


def test_a_temperature_axis_is_round_in_the_owners_unit():
    assert [t.words for t in temp_ticks(850, "C")] == ["200", "400", "600", "800"]
    assert [t.words for t in temp_ticks(850, "F")] == ["400", "800", "1200"]
    assert temp_ticks(850, "F")[0].temp_c == pytest.approx((400 - 32) / 1.8)
