"""The ticks of dates are few, round, and say their year once."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from web.drawing.date_ticks import date_ticks


def test_weeks_are_told_in_days():
    assert date_ticks(date(2026, 3, 30), date(2026, 4, 8), 6) == [
        (date(2026, 3, 30), "30 Mar"), (date(2026, 4, 1), "1 Apr"), (date(2026, 4, 3), "3 Apr"),
        (date(2026, 4, 5), "5 Apr"), (date(2026, 4, 7), "7 Apr")]


def test_months_are_told_by_their_names_and_a_january_with_its_year():
    said = [words for _, words in date_ticks(date(2025, 9, 12), date(2026, 4, 20), 8)]
    assert said == ["Oct 2025", "Nov", "Dec", "Jan 2026", "Feb", "Mar", "Apr"]


@pytest.mark.parametrize("days", [1, 2, 5, 13, 30, 45, 46, 90, 200, 400, 800, 3000, 12_000])
@pytest.mark.parametrize("room", [4, 7])
def test_there_are_never_more_than_there_is_room_for_and_all_lie_within(days, room):
    first = date(2024, 2, 17)
    ticks = date_ticks(first, first + timedelta(days=days), room)
    assert 1 <= len(ticks) <= room
    assert all(first <= day <= first + timedelta(days=days) for day, _ in ticks)
    assert len({day for day, _ in ticks}) == len(ticks)
