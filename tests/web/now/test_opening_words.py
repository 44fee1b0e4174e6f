"""When the kiln may be opened: a small margin is said as it is, a wide one as a range, a very wide one not at all."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from web.now.opening_words import anneal_words, opening_words, safely_by

STARTS = datetime(2026, 3, 2, 20, 7, tzinfo=ZoneInfo("Europe/Berlin"))


def at(clock: str) -> float:
    """Return the second of the firing at a time of the next day."""
    hour, minute = map(int, clock.split(":"))
    return (STARTS.replace(hour=hour, minute=minute) + timedelta(days=1) - STARTS).total_seconds()


def said(open_at: str, margin_min: float | None, now: str = "04:00", unit: str = "C") -> tuple[str, str]:
    margin_s = None if margin_min is None else margin_min * 60
    return opening_words(at(open_at), margin_s, at(now), STARTS, unit)


def test_a_narrow_margin_is_said_in_minutes_beside_the_time() -> None:
    assert said("11:04", 14) == (
        "11:04", "Cool enough to open, 40 °C, perhaps 14 min earlier or later; shelf and mould may be warmer")
    assert said("11:04", None) == ("11:04", "Cool enough to open, 40 °C; shelf and mould may be warmer")


@pytest.mark.parametrize(("open_at", "margin_min", "earliest", "latest"), [
    ("11:04", 15, "10:45", "11:30"),  # 10:49 to 11:19
    ("11:00", 60, "10:00", "12:00"),  # on the quarter already
    ("11:04", 154, "08:30", "13:45"),  # 08:30 to 13:38
    ("11:04", 180, "08:00", "14:15"),  # 08:04 to 14:04
])
def test_a_wide_margin_is_a_range_of_quarters_that_holds_all_of_it(open_at, margin_min, earliest, latest) -> None:
    assert said(open_at, margin_min) == (
        "", f"Cool enough to open, 40 °C, probably between {earliest} and {latest}; shelf and mould may be warmer")


def test_a_range_that_has_begun_says_its_end_alone() -> None:
    assert said("05:00", 90)[1] == "Cool enough to open, 40 °C, probably by 06:30; shelf and mould may be warmer"


def test_where_more_than_three_hours_are_open_the_time_is_not_known_yet() -> None:
    assert said("11:04", 274) == (
        "", "When it is cool enough to open, 40 °C, is not known yet: hardly before 06:30")  # 11:04 − 4 h 34 min
    assert said("07:00", 274) == ("", "When it is cool enough to open, 40 °C, is not known yet")


def test_it_is_said_in_the_readers_unit_and_with_the_date_where_it_is_far_off() -> None:
    assert said("23:00", 60, unit="F")[1] == (  # 20 h from now, and on another day
        "Cool enough to open, 104 °F, probably between 22:00 and Wed 4 Mar 00:00; shelf and mould may be warmer")


@pytest.mark.parametrize(("open_at", "margin_min", "by"), [
    ("11:04", None, "11:15"), ("11:00", None, "11:00"), ("11:04", 14, "11:30"), ("11:04", 180, "14:15"),
])
def test_by_the_end_of_the_range_it_is_probably_cool(open_at: str, margin_min: float | None, by: str) -> None:
    margin_s = None if margin_min is None else margin_min * 60
    found = safely_by(at(open_at), margin_s, STARTS)
    assert found is not None
    assert f"{found:%d %H:%M}" == f"03 {by}"


def test_with_so_wide_a_margin_that_it_is_not_known_there_is_no_end() -> None:
    assert safely_by(at("11:04"), 181 * 60.0, STARTS) is None


def test_the_anneal_is_said_to_five_minutes_that_hold_its_whole_range() -> None:
    def told(begins: str, margin_min: float, learned: int | None = 3) -> str:
        return anneal_words(at(begins), margin_min * 60, at("00:30"), STARTS, learned)

    assert told("01:40", 10) == "The anneal hold begins, probably between 01:30 and 01:50"
    assert told("01:41", 8) == "The anneal hold begins, probably between 01:30 and 01:50"  # 01:33 to 01:49
    assert told("00:34", 8) == "The anneal hold begins, probably by 00:45"
    assert told("01:40", 10, 2) == (
        "The anneal hold begins, probably between 01:30 and 01:50; learned from 2 firings only")
    assert told("00:34", 8, 1) == "The anneal hold begins, probably by 00:45; learned from one firing only"
