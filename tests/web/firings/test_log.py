"""The log of a firing: everything that happened, in the order it came, by days."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Milestone, Part, Said, Saying
from daemon.store.found_parts import Gap
from daemon.store.notes import Note
from web.firings.log import chronicle, dated

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


PARTS = (
    Part(0, 1, "ramp", 60.0, 3600.0), Part(1, 1, "hold", 3600.0, 5400.0), Part(2, 2, "ramp", 5400.0, 9000.0),
    Part(3, 2, "hold", 9000.0, 12_600.0), Part(4, 3, "ramp", 12_600.0, None))


@pytest.mark.parametrize(("name", "step", "noticed_s", "began_s"), [
    ("top-reached", None, 4020.0, 3600.0), ("anneal-begun", None, 9480.0, 9000.0),
    ("anneal-done", None, 12_900.0, 12_600.0), ("step-2", 2, 5700.0, 5400.0),
    # The hold of step 2 was noticed while it went on, and is now known to have ended before.
    ("anneal-begun", None, 12_780.0, 9000.0)])
def test_a_milestone_is_dated_where_its_part_began_and_says_when_it_was_noticed(name, step, noticed_s, began_s):
    t_s, text = dated(Milestone(noticed_s, name, "Begun.", step), PARTS, STARTS)
    assert t_s == began_s
    assert text == f"Begun. Noticed at {20 + int(noticed_s // 3600)}:{int(noticed_s % 3600 // 60):02d}."


def test_what_was_noticed_within_two_minutes_is_only_dated():
    assert dated(Milestone(3700.0, "top-reached", "Top."), PARTS, STARTS) == (3600.0, "Top.")


def test_a_hold_that_is_kept_as_begun_after_it_was_noticed_is_not_taken_for_the_one_before():
    parts = (Part(2, 1, "hold", 3000.0, 4800.0), Part(3, 2, "ramp", 4800.0, 5060.0), Part(4, 2, "hold", 5060.0))
    assert dated(Milestone(5050.0, "top-reached", "Top."), parts, STARTS) == (5050.0, "Top.")


def test_what_is_no_part_stays_where_it_was_noticed():
    for name in ("may-be-opened", "call-640"):
        assert dated(Milestone(20_000.0, name, "Cold."), PARTS, STARTS) == (20_000.0, "Cold.")
    assert dated(Milestone(20_000.0, "top-reached", "Top."), (), STARTS) == (20_000.0, "Top.")


def test_the_log_puts_it_where_the_table_of_the_steps_has_it():
    (day,) = chronicle(STARTS, [], [Milestone(9480.0, "anneal-begun", "Begun.")], [], [], [], parts=PARTS)
    assert [(entry.when, entry.text) for entry in day.entries] == [("22:30", "Begun. Noticed at 22:38.")]
