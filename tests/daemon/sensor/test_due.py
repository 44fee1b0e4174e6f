"""A thermocouple is to be compared again after a year or fifty firings, whichever comes first."""

from datetime import date

import pytest

from daemon.sensor.due import a_year_after, comparison_due


@pytest.mark.parametrize(("day", "next_year"), [
    (date(2025, 3, 1), date(2026, 3, 1)), (date(2024, 2, 29), date(2025, 2, 28)),
    (date(2023, 2, 28), date(2024, 2, 28)),
])
def test_a_year_later_is_the_same_day_or_the_last_of_february(day, next_year):
    assert a_year_after(day) == next_year


def test_whichever_comes_first_counts():
    since = date(2025, 3, 1)
    assert comparison_due(since, None) == date(2026, 3, 1)
    assert comparison_due(since, date(2025, 9, 9)) == date(2025, 9, 9)
    assert comparison_due(since, date(2026, 9, 9)) == date(2026, 3, 1)
