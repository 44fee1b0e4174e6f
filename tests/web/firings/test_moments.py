"""Steps of the computer's clock during a firing: told once each, and no note or photograph moves by them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.store import firings, found_parts, notes
from daemon.store.found_parts import ClockMark
from web.firings.moments import clock_steps, second_of, step_words

STARTS = datetime(2026, 3, 3, 20, 0, tzinfo=UTC)
UNSET = datetime(1970, 1, 1, 0, 2, tzinfo=UTC)


def mark(t_s, wall, synchronised=True, boot="a"):
    return ClockMark(t_s, wall, boot, 100.0 + t_s, synchronised)


def at(s):
    return STARTS + timedelta(seconds=s)


THREE_HOURS = [mark(0, at(0)), mark(600, at(600)), mark(1205, at(1205 + 3 * 3600)), mark(1805, at(1805 + 3 * 3600))]
FIRST_SET = [mark(0, UNSET, False), mark(600, UNSET + timedelta(minutes=10), False), mark(905, at(905)),
             mark(1505, at(1505))]


def test_a_clock_set_forward_or_back_is_told_once_with_its_second():
    [step] = clock_steps(THREE_HOURS)
    assert (step.t_s, step.by_s) == (1205, 3 * 3600)
    assert step_words(step) == "The computer’s clock was set forward 3 h 00 min. The times here stay as they are."
    [back] = clock_steps([mark(0, at(0)), mark(5, at(5 - 3600))])
    assert step_words(back).startswith("The computer’s clock was set back 1 h 00 min.")


def test_the_first_clock_that_is_set_says_that_all_times_come_from_it():
    [step] = clock_steps(FIRST_SET)
    assert step_words(step) == (
        "The computer’s clock was set. Before that it was wrong by more than a day. All times here are reckoned from "
        "the new time.")
    [late] = clock_steps([mark(0, at(-7200), False), mark(60, at(60))])
    assert "set forward 2 h 00 min. All times" in step_words(late)


def test_a_clock_that_is_drawn_right_or_a_reboot_is_no_step():
    assert clock_steps([mark(0, at(0)), mark(600, at(630)), mark(1200, at(1200))]) == []
    assert clock_steps([mark(0, at(0)), mark(600, at(9000), boot="b")]) == []  # its length is the gap's


class Firing:
    speed, started_utc = 1.0, STARTS


@pytest.mark.parametrize(("wall", "t_s"), [
    (at(300), 300.0), (at(1200), 1200.0), (at(1209), 1209.0), (at(1305 + 3 * 3600), 1305.0),
    (at(9000 + 3 * 3600), 9000.0), (at(-50), -50.0)])
def test_a_time_is_the_second_at_which_the_clock_said_so(wall, t_s):
    assert second_of(wall, Firing, THREE_HOURS) == t_s


def test_a_note_of_1970_is_where_it_was_written():
    assert second_of(UNSET + timedelta(seconds=700), Firing, FIRST_SET) == 700.0
    assert second_of(at(1000), Firing, FIRST_SET) == 1000.0


def test_after_the_clock_was_set_back_the_later_stretch_is_meant():
    marks = [mark(0, at(0)), mark(3605, at(5)), mark(4205, at(605))]
    assert second_of(at(300), Firing, marks) == 3900.0


def test_the_page_tells_the_step_and_keeps_the_order_of_what_was_written(client, studio):
    number = studio.fill(until_s=7200.0, ended=True)
    began = studio.store(lambda db: firings.firing(db, number).started_utc)

    def keep(db):
        for t_s, wall, is_set in ((0, UNSET, False), (3600, UNSET + timedelta(hours=1), False),
                                  (4000, began + timedelta(seconds=4000), True)):
            found_parts.add_clock_mark(db, number, ClockMark(t_s, wall, "boot", float(t_s), is_set))
        notes.add_note(db, number, "Smells of binder.", UNSET + timedelta(seconds=1800))

    studio.store(keep)
    page = client.get(f"/firings/{number}").text.replace("\u00a0", " ")
    assert page.count("Before that it was wrong by more than a day.") == 1
    zone = studio.settings().zone
    told = [f"{(began + timedelta(seconds=s)).astimezone(zone):%H:%M}" for s in (1800, 4000)]
    log = page[page.index("Smells of binder") - 200:]
    assert told[0] in log[:200]
    assert "1970" not in page
    assert page.index("Smells of binder") < page.index("clock was set")
