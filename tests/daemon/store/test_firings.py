from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Alert, AlertChanged, Milestone, Part, Rank, Said, Sample, Saying, Text
from daemon.store import alerts, bin, firing_list, firings, found_parts, notes, outcomes, pieces, plans, readings
from daemon.store.found_parts import ClockMark, Gap

NOW = datetime(2026, 3, 2, 6, 30, 15, 250_000, tzinfo=UTC)
OTHER_PLAN = 'title = "Tack"\nunit = "C"\n\n[[step]]\nrate = 100\nto = 740\nhold_min = 10\n'
PLAN = 'title = "Slump"\nunit = "C"\n\n[[step]]\nrate = 100\nto = 640\nhold_min = 10\n'


def _alert(no, rank):
    return Alert(no, "cooling-too-fast", rank, 10.0, 20.0, Text("w", "m", "d"))


def test_a_firing_is_read_back_as_it_was_opened(db, open_one):
    piece_id = pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6, now_utc=NOW)
    plan_id = plans.add_plan(db, PLAN, NOW)
    firing_id = open_one(plan_id=plan_id, glass="96", thickness_mm=9.5, faces=2, offset_c=-3.0,
                         piece_ids=[piece_id], speed=300.0, invented=True)
    found = firings.firing(db, firing_id)
    assert (found.plan_id, found.glass, found.thickness_mm, found.faces) == (plan_id, "96", 9.5, 2)
    assert (found.offset_c, found.piece_ids, found.speed, found.invented) == (-3.0, (piece_id,), 300.0, True)
    assert found.started_utc == datetime(2026, 3, 1, 20, tzinfo=UTC)
    assert (found.ended_s, found.ended_by) == (None, None)
    assert firings.current(db, found.kiln_id) == found
    assert [f.firing_id for f in firings.of_piece(db, piece_id)] == [firing_id]


def test_what_is_not_said_of_a_firing_is_the_ordinary_case(db, open_one):
    found = firings.firing(db, open_one())
    assert (found.speed, found.glass, found.thickness_mm, found.faces) == (1.0, "90", 6.0, 1)
    assert (found.plan_id, found.offset_c, found.piece_ids, found.invented) == (None, None, (), False)
    assert firings.firing(db, 99) is None


def test_a_kiln_has_one_open_firing_at_most(db, open_one):
    open_one()
    with pytest.raises(sqlite3.IntegrityError):
        open_one()


def test_an_ended_firing_stays_as_it_ended(db, open_one):
    firing_id = open_one()
    firings.end_firing(db, firing_id, 3600.0, NOW, "cold")
    firings.end_firing(db, firing_id, 9999.0, NOW + timedelta(hours=1), "maker")
    found = firings.firing(db, firing_id)
    assert (found.ended_s, found.ended_by, found.ended_utc) == (3600, "cold", NOW)
    assert firings.current(db, found.kiln_id) is None


def test_naming_changes_only_what_was_said(db, open_one):
    piece_id = pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6, now_utc=NOW)
    firing_id = open_one()
    before = firings.firing(db, firing_id)
    firings.name_firing(db, firing_id, {"title": "Tray"}, [piece_id, piece_id])
    after = firings.firing(db, firing_id)
    assert (after.title, after.piece_ids) == ("Tray", (piece_id,))
    assert (after.glass, after.thickness_mm, after.started_utc) == (
        before.glass, before.thickness_mm, before.started_utc)


def test_the_list_shows_peak_length_plan_and_worst_rank_latest_first(db, open_one):
    plan_id = plans.add_plan(db, PLAN, NOW)
    first = open_one(plan_id=plan_id)
    readings.append(db, first, [Sample(5.0, 20.0), Sample(10.0, 641.5), Sample(15.0, 630.0)])
    alerts.record(db, first, AlertChanged(20.0, "raised", _alert(1, Rank.LOOK)), NOW)
    alerts.record(db, first, AlertChanged(20.0, "raised", _alert(2, Rank.WAKE)), NOW)
    firings.end_firing(db, first, 900.0, NOW, "maker")
    second = open_one(title="Tray")
    readings.append(db, second, [Sample(5.0, 20.0), Sample(10.0, 300.25)])
    third_row, first_row = firing_list.matching(db)
    assert (first_row.firing.firing_id, first_row.peak_c, first_row.duration_s) == (first, 641.5, 900)
    assert (first_row.worst_rank, first_row.plan_title) == (Rank.WAKE, "Slump")
    assert (third_row.firing.firing_id, third_row.peak_c, third_row.duration_s) == (second, 300.25, 10)
    assert (third_row.worst_rank, third_row.plan_title) == (None, None)
    assert [row.firing.firing_id for row in firing_list.matching(db, limit=1, offset=1)] == [first]


def test_later_parts_replace_earlier_ones(db, open_one):
    firing_id = open_one()
    found_parts.replace_parts(db, firing_id, [Part(0, 1, "ramp", 0.0)])
    revised = [Part(0, 1, "ramp", 0.0, 3600.5, 220.0, None), Part(1, 1, "hold", 3600.5, None, 0.0, 670.2)]
    found_parts.replace_parts(db, firing_id, revised)
    assert found_parts.parts(db, firing_id) == revised


def test_gaps_marks_milestones_and_sayings_are_read_back(db, open_one):
    firing_id = open_one()
    gap = Gap(100, 220, "the daemon was not running")
    found_parts.add_gap(db, firing_id, gap)
    found_parts.add_gap(db, firing_id, gap)
    assert found_parts.gaps(db, firing_id) == [gap]
    mark = ClockMark(0, NOW, "boot-a", 123.5, True)
    found_parts.add_clock_mark(db, firing_id, mark)
    assert found_parts.clock_marks(db, firing_id) == [mark]
    reached = Milestone(5000.0, "top", "Top reached.", 2)
    found_parts.add_milestone(db, firing_id, reached)
    found_parts.add_milestone(db, firing_id, reached)
    assert found_parts.milestones(db, firing_id) == [reached]
    found_parts.forget_milestones(db, firing_id)
    assert found_parts.milestones(db, firing_id) == []
    words = [Said(50.0, Saying.QUIET, 2, 1800.0), Said(50.0, Saying.VENTED), Said(20.0, Saying.PEEKED)]
    for said in words:
        found_parts.add_said(db, firing_id, said)
    assert found_parts.said(db, firing_id) == [words[2], words[0], words[1]]


@pytest.fixture
def two(db, open_one):
    """Return two ended firings that differ in all that a list can be asked for, and the store's connection."""
    bowl = pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6, now_utc=NOW)
    plate = pieces.add_piece(db, name="Plate", glass="96", thickness_mm=6, now_utc=NOW)
    found = []
    for title, plan, glass, piece, day in (("First", PLAN, "90", bowl, 1),
                                           ("Second 5%_a", OTHER_PLAN, "96", plate, 2)):
        firing_id = open_one(title=title, plan_id=plans.add_plan(db, plan, NOW), glass=glass, piece_ids=[piece],
                             started_utc=datetime(2026, 3, day, 20, tzinfo=UTC))
        firings.end_firing(db, firing_id, 3600.0, NOW, "maker")
        found.append(firing_id)
    first, second = found
    notes.add_note(db, first, "Left the vent open", NOW)
    outcomes.add_outcome(db, firing_id=first, piece_id=bowl, words=["haze"], place="", note="", now_utc=NOW)
    outcomes.add_outcome(db, firing_id=second, piece_id=plate, words=["haze"], place="", note="", now_utc=NOW)
    outcomes.add_outcome(db, firing_id=second, piece_id=plate, words=["clear"], place="", note="", now_utc=NOW)
    alerts.record(db, first, AlertChanged(20.0, "raised", _alert(1, Rank.LOG)), NOW)
    alerts.record(db, second, AlertChanged(20.0, "raised", _alert(1, Rank.LOOK)), NOW)
    return db, first, second


@pytest.mark.parametrize(("asked", "which"), [
    ({"text": "first"}, [1]), ({"text": "PLATE"}, [2]), ({"text": "vent open"}, [1]), ({"text": "Slump"}, [1]),
    ({"text": "%"}, [2]), ({"text": "_"}, [2]), ({"text": "heron"}, []),
    ({"glass": "90"}, [1]), ({"glass": "96"}, [2]), ({"glass": "104"}, []),
    ({"plan": "Slump"}, [1]), ({"plan": "Tack"}, [2]), ({"plan": "Slum"}, []),
    ({"outcome": "haze"}, [1]), ({"outcome": "clear"}, [2]), ({"outcome": "crack"}, []),
    ({"strayed": True}, [2]), ({"strayed": False}, [2, 1]),
    ({"since_utc": datetime(2026, 3, 2, 20, tzinfo=UTC)}, [2]),
    ({"until_utc": datetime(2026, 3, 2, 20, tzinfo=UTC)}, [1]),
    ({"glass": "90", "plan": "Slump"}, [1]), ({"glass": "90", "plan": "Tack"}, []),
    ({"limit": 1}, [2]), ({"limit": 1, "offset": 1}, [1]), ({}, [2, 1]),
])
def test_the_list_holds_what_fits_all_that_is_asked(two, asked, which):
    db, first, second = two
    found = [listed.firing.firing_id for listed in firing_list.matching(db, **asked)]
    assert found == [{1: first, 2: second}[number] for number in which]


def test_what_has_ended_is_found_by_kiln_and_by_what_it_came_after(two, open_one):
    db, first, second = two
    later = open_one(title="Third", started_utc=NOW + timedelta(days=1))
    row = firings.firing(db, later)
    assert [f.firing_id for f in firings.latest_of_kiln(db, row.kiln_id, 5)] == [second, first]
    assert [f.firing_id for f in firings.latest_of_kiln(db, row.kiln_id, 1)] == [second]
    assert firings.latest_of_kiln(db, row.kiln_id + 1, 5) == []
    assert [f.firing_id for f in firings.ended_before(db, row, 5)] == [second, first]
    assert [f.firing_id for f in firings.ended_before(db, row, 1)] == [second]
    early = replace(row, started_utc=NOW - timedelta(seconds=1))
    assert firings.ended_before(db, early, 5) == [], "none had ended when it began"
    assert firings.ended_before(db, replace(row, invented=True), 5) == [], "an invented one has no real past"
    firings.name_firing(db, second, {"plan_id": None})
    assert [f.firing_id for f in firings.ended_before(db, row, 5)] == [first], "without a plan nothing is learned"


def test_firings_are_listed_by_their_numbers_without_those_that_were_deleted(db, open_one):
    numbers = []
    for _ in range(3):
        numbers.append(open_one())
        firings.end_firing(db, numbers[-1], 60.0, NOW, "maker")
    bin.put_into_bin(db, numbers[1], NOW)
    found = firing_list.by_number(db, [numbers[1], numbers[2], numbers[0], 999])
    assert sorted(one.firing.firing_id for one in found) == [numbers[0], numbers[2]]
    assert firing_list.by_number(db, []) == []
