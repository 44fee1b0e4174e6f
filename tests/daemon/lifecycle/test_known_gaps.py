"""How long the computer was off is known once its clock is set, and then said."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.lifecycle.known_gaps import OFF_UNKNOWN, corrected
from daemon.store import found_parts
from daemon.store.found_parts import ClockMark, Gap

EVENING = datetime(2026, 3, 1, 20, 0, tzinfo=UTC)


def mark(t_s, wall_s, *, is_set=True):
    return ClockMark(t_s, EVENING + timedelta(seconds=wall_s), "boot", 0.0, is_set)


BEFORE, GAP = mark(3000, 3000), Gap(3600, 3630, OFF_UNKNOWN)


def test_the_wall_time_between_two_set_clocks_less_what_was_counted_is_the_gap():
    # 600 s were watched before it and 370 s after it; 20,000 s passed on the wall: 19,030 s, 5 h 17 min.
    [gap] = corrected([GAP], [BEFORE, mark(3640, 3650, is_set=False)], mark(4000, 23_000), 1.0)
    assert (gap.from_s, gap.to_s) == (3600, 3630)
    assert gap.reason == ("the computer was off for 5 h 17 min, by its clock, which was set later. "
                          "All times after it are 5 h 17 min too early")


def test_a_length_that_was_right_needs_no_word_of_wrong_times():
    [gap] = corrected([GAP], [BEFORE], mark(4000, 4010), 1.0)
    assert gap.reason == "the computer was off for 40 s, by its clock, which was set later"


@pytest.mark.parametrize(("gaps", "marks", "now"), [
    ([GAP], [], mark(4000, 23_000)),  # never set before
    ([GAP], [mark(3000, 3000, is_set=False)], mark(4000, 23_000)),
    ([GAP], [mark(3650, 3650)], mark(4000, 23_000)),  # set after it only
    ([Gap(3600, 3630, "the computer was off")], [BEFORE], mark(4000, 23_000)),
    ([Gap(3100, 3130, OFF_UNKNOWN), GAP], [BEFORE], mark(4000, 23_000)),  # only their sum is known
    ([GAP], [BEFORE], mark(4000, 1000)),  # set back meanwhile
])
def test_what_nobody_can_know_stays_as_it_was(gaps, marks, now):
    assert corrected(gaps, marks, now, 1.0) == []


def test_a_firing_says_it_as_soon_as_its_clock_is_set(studio):
    studio.start_firing()
    studio.run(1300)
    studio.kill()
    studio.reboot(0, wall=datetime(1970, 1, 1, tzinfo=UTC))
    studio.run(300)
    [gap] = studio.see(lambda db: found_parts.gaps(db, studio.firing().firing_id))
    assert gap.reason == OFF_UNKNOWN
    studio.clock.wall, studio.clock.is_set = EVENING + timedelta(seconds=1300 + 7200 + 300), True
    studio.run(60)
    [gap] = studio.see(lambda db: found_parts.gaps(db, studio.firing().firing_id))
    assert gap.reason.startswith("the computer was off for 2 h 00 min, by its clock, which was set later.")
