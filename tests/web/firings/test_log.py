"""The log of a firing: everything that happened, in the order it came, by days."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from daemon.firing.events import Milestone, Said, Saying
from daemon.store.found_parts import Gap
from daemon.store.notes import Note
from web.firings.log import chronicle

STARTS = datetime(2026, 3, 3, 20, 0, tzinfo=UTC)


def test_all_kinds_of_entries_stand_in_order_under_their_days():
    days = chronicle(
        STARTS, [], [Milestone(3600.0, "top", "At the top, 800 °C.")],
        [Said(7200.0, Saying.VENTED), Said(7300.0, Saying.ACKNOWLEDGE, 1)],
        [Gap(1800, 2400, "Lehrling was not running")],
        [(12 * 3600.0, Note(1, 1, STARTS + timedelta(hours=12), "Clear."))])
    assert [day.date for day in days] == ["Tue 3 Mar", "Wed 4 Mar"]
    assert [(e.when, e.tone) for day in days for e in day.entries] == [
        ("20:30", "gap"), ("21:00", "milestone"), ("22:00", "said"), ("08:00", "note")]
    assert days[0].entries[0].text == (
        "No reading until 20:40: Lehrling was not running. Nothing is invented there.")
    assert days[0].entries[2].text == "You vented."
