"""Changes of elements and thermocouple are listed by day, corrected, taken out and brought back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from daemon.store import kilns
from daemon.store.wear import part_changes

NOW = datetime(2026, 3, 1, 4, 20, tzinfo=UTC)


def test_changes_stand_by_their_day_and_by_their_kiln(db):
    kiln, other = kilns.kiln_id(db, "Kiln"), kilns.kiln_id(db, "Other")
    later = part_changes.add_change(db, kiln, "elements", date(2026, 2, 2), "all four", NOW)
    earlier = part_changes.add_change(db, kiln, "thermocouple", date(2025, 7, 9), "", NOW)
    part_changes.add_change(db, other, "elements", date(2026, 1, 1), "", NOW)
    assert [one.part_change_id for one in part_changes.changes(db, kiln)] == [earlier, later]
    assert part_changes.changes(db, kiln)[1][2:] == ("elements", date(2026, 2, 2), "all four", False)


def test_a_correction_stands_in_place_of_what_it_corrects_and_both_are_kept(db):
    kiln = kilns.kiln_id(db, "Kiln")
    wrong = part_changes.change(db, part_changes.add_change(db, kiln, "elements", date(2026, 2, 2), "", NOW))
    right = part_changes.correct(db, wrong, "thermocouple", date(2026, 2, 3), "type N", NOW)
    assert [(one.part_change_id, one.part) for one in part_changes.changes(db, kiln)] == [(right, "thermocouple")]
    assert part_changes.change(db, wrong.part_change_id).is_removed


def test_what_was_taken_out_comes_back(db):
    kiln = kilns.kiln_id(db, "Kiln")
    number = part_changes.add_change(db, kiln, "elements", date(2026, 2, 2), "", NOW)
    part_changes.remove(db, number, NOW)
    assert part_changes.changes(db, kiln) == []
    part_changes.bring_back(db, number)
    assert [one.part_change_id for one in part_changes.changes(db, kiln)] == [number]
    assert part_changes.change(db, 99) is None


def test_the_last_entry_counts_corrections_and_removals_of_this_part_alone(db):
    kiln = kilns.kiln_id(db, "Kiln")
    assert part_changes.last_entry_utc(db, kiln, "elements") is None
    number = part_changes.add_change(db, kiln, "elements", date(2026, 2, 2), "", NOW)
    part_changes.add_change(db, kiln, "thermocouple", date(2026, 2, 2), "", NOW + timedelta(days=9))
    assert part_changes.last_entry_utc(db, kiln, "elements") == NOW
    part_changes.remove(db, number, NOW + timedelta(days=2))
    assert part_changes.last_entry_utc(db, kiln, "elements") == NOW + timedelta(days=2)
