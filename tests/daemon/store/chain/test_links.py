"""What gets a link, and when; and what a link hashes, reckoned here from the description alone."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256

import pytest

from daemon.firing.events import Milestone, Part, Sample
from daemon.store import bin, firings, found_parts, notes, outcomes, own_facts, pieces, readings
from daemon.store.chain import contents, links, source_file
from daemon.store.chain.contents import BLOCK_S
from daemon.store.chain.verify import FIRST_WITH_CHAIN
from daemon.store.database import transaction
from daemon.store.found_parts import ClockMark, Gap
from daemon.store.wear import heat

NOW = datetime(2026, 3, 1, 20, 0, 0, tzinfo=UTC)


def kinds(db, firing_id):
    return [(link.kind, link.ref) for link in links.links(db, firing_id)]


def test_a_link_hashes_its_content_and_the_head_before_it(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0, 20.0), Sample(10.0, 21.0, None, 20.5, 22.0),
                                    Sample(595.0, None, "open"), Sample(600.0, 21.0)])
    first, joined, second = links.links(db, firing_id)
    own = sha256(b"[[5,2560,null,null,null],[10,2688,64,128,null],[595,null,null,null,1]]").hexdigest()
    assert (second.kind, second.ref, second.own.hex()) == ("readings", 0, own)
    assert second.head.hex() == sha256(f"{joined.head.hex()} readings 0 {own}".encode()).hexdigest()
    facts = json.dumps({
        "title": "Bowl", "opened_by": "maker", "started_utc": "2026-03-01T20:00:00.000Z", "start_boot_id": "boot-a",
        "start_clock_s": 100.0, "speed": 1.0, "glass": "90", "thickness_mm": 6.0, "faces": 1, "offset_c": None,
        "ended_s": None, "ended_utc": None, "ended_by": None, "highest_128": None, "alert_base": 0, "invented": 0,
        "plan_sha256": None, "probe": "bench", "thermocouple_type": "K"}, sort_keys=True, separators=(",", ":"))
    own = sha256(facts.encode()).hexdigest()
    assert (first.kind, first.ref, first.own.hex()) == ("firing", 0, own)
    assert first.head.hex() == sha256(f"{'0' * 64} firing 0 {own}".encode()).hexdigest()
    nothing = sha256(b"null").hexdigest()
    assert (joined.kind, joined.ref, joined.own.hex()) == ("joined", 0, nothing)
    assert joined.head.hex() == sha256(f"{first.head.hex()} joined 0 {nothing}".encode()).hexdigest()


def test_ten_minutes_get_their_link_with_the_first_reading_after_them(db, open_one):
    firing_id = open_one()
    for t_s in range(0, 2 * BLOCK_S, 5):
        readings.append(db, firing_id, [Sample(float(t_s), 20.0)])
        assert kinds(db, firing_id)[2:] == [("readings", block) for block in range(t_s // BLOCK_S)]


def test_a_gap_of_hours_and_many_readings_at_once_are_linked_by_ten_minutes(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(float(t_s), 20.0) for t_s in (0, 5, 700, 20_000, 20_600)])
    readings.append(db, firing_id, [Sample(30_000.0, 20.0)])
    assert kinds(db, firing_id)[2:] == [("readings", block) for block in (0, 1, 33, 34)]


def test_the_end_links_what_is_left(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(0.0, 20.0), Sample(650.0, 30.0)])
    found_parts.replace_parts(db, firing_id, [Part(0, 1, "ramp", 0.0)])
    firings.end_firing(db, firing_id, 650.0, NOW, "maker")
    assert kinds(db, firing_id) == [("firing", 0), ("joined", 0), ("readings", 0), ("readings", 1), ("parts", 0),
                                    ("milestones", 0), ("firing", 0)]


def test_a_corrected_date_and_another_name_are_new_links(small, found):
    db, firing_id = small
    before = len(kinds(db, firing_id))
    firings.date_firing(db, firing_id, NOW.replace(hour=21))
    firings.name_firing(db, firing_id, {"title": "Dish"}, [])
    assert kinds(db, firing_id)[before:] == [("firing", 0), ("firing", 0)]
    assert found(db, firing_id).state == "whole"


def test_a_firing_that_runs_is_whole_though_its_last_minutes_have_no_link(db, open_one, found):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(0.0, 20.0), Sample(650.0, 30.0)])
    found_parts.replace_parts(db, firing_id, [Part(0, 1, "ramp", 0.0)])
    assert found(db, firing_id).state == "whole"
    db.execute("UPDATE reading SET temp_128 = 0 WHERE t_s = 0")
    assert found(db, firing_id).state == "changed"


def test_what_is_rolled_back_leaves_no_link(db, open_one):
    firing_id = open_one()

    def both():
        with transaction(db):
            notes.add_note(db, firing_id, "Never kept.", NOW)
            notes.add_note(db, firing_id, "Neither is this.", None)

    with pytest.raises(AttributeError):
        both()
    assert kinds(db, firing_id) == [("firing", 0), ("joined", 0)]


def test_text_that_a_disk_damaged_stops_no_entry_and_is_found(db, open_one, found):
    firing_id = open_one()
    db.execute("UPDATE firing SET title = CAST(x'ff42' AS TEXT)")
    notes.add_note(db, firing_id, "Kept.", NOW)
    assert found(db, firing_id).state == "changed"
    firings.end_firing(db, firing_id, 10.0, NOW, "maker")
    assert kinds(db, firing_id)[-1] == ("firing", 0)
    with pytest.raises(sqlite3.OperationalError):
        firings.firing(db, firing_id)


def test_a_number_that_json_does_not_have_is_no_reason_to_lose_a_row():
    assert links.canonical([float("inf"), {"a": float("nan")}, 1.0]) == b'["inf",{"a":"nan"},1.0]'


def test_a_firing_of_an_older_version_is_chained_as_a_whole(small, found):
    db, firing_id = small
    db.execute("DELETE FROM link")
    own_facts.put_setting(db, FIRST_WITH_CHAIN, str(firing_id + 1))
    assert found(db, firing_id).state == "unchained"
    assert links.not_chained(db, 10) == [firing_id]
    notes.add_note(db, firing_id, "Before the night.", NOW)
    assert kinds(db, firing_id) == []
    with transaction(db):
        links.adopt(db, firing_id, NOW)
        links.adopt(db, firing_id, NOW)
    assert links.not_chained(db, 10) == []
    seen = found(db, firing_id)
    assert (seen.state, seen.chained_utc) == ("whole", NOW)
    notes.add_note(db, firing_id, "After it.", NOW)
    assert replace(found(db, firing_id), links=0, mark="") == replace(seen, links=0, mark="")
    db.execute("UPDATE reading SET temp_128 = 0 WHERE t_s = 150")
    assert found(db, firing_id).state == "changed"


def test_what_comes_beside_the_readings_is_linked_in_the_moment_in_which_it_is_kept(db, open_one, found):
    firing_id = open_one()
    piece = pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6.0, now_utc=NOW)
    found_parts.add_gap(db, firing_id, Gap(0, 600, "unknown"))
    found_parts.add_gap(db, firing_id, Gap(0, 600, "once more"))
    found_parts.name_gap(db, firing_id, Gap(0, 600, "no power"))
    found_parts.add_clock_mark(db, firing_id, ClockMark(3, NOW, "boot-a", 0.1, True))
    found_parts.add_milestone(db, firing_id, Milestone(5.0, "top", "Top reached.", 1, 640.0))
    firings.end_firing(db, firing_id, 650.0, NOW, "maker")
    outcomes.add_outcome(db, firing_id=firing_id, piece_id=piece, words=["clear"], place="", note="", now_utc=NOW)
    heat.put_meter(db, firing_id, 12.0, NOW)
    heat.put_meter(db, firing_id, None, NOW)
    source_file.put(db, firing_id, "log.csv", b"s,C", NOW)
    links.add(db, firing_id, ("source", 0))
    found_parts.add_milestone(db, firing_id, Milestone(6.0, "hold", "Held.", 1, 640.0))
    assert kinds(db, firing_id)[2:] == [
        ("gap", 0), ("gap", 0), ("clock", 3), ("parts", 0), ("milestones", 0), ("firing", 0), ("outcome", 1),
        ("meter", 0), ("meter", 0), ("source", 0), ("milestones", 0)]
    chain = {link.kind: link for link in links.links(db, firing_id)}
    said = '{"note":"","piece_made_utc":"2026-03-01T20:00:00.000Z","place":"","wall_utc":"2026-03-01T20:00:00.000Z",'
    assert chain["outcome"].own == sha256(f'{said}"words":["clear"]}}'.encode()).digest()
    assert chain["gap"].own == sha256(b'{"from_s":0,"reason":"no power","to_s":600}').digest()
    assert chain["meter"].own == sha256(b"null").digest()
    digest = sha256(b"s,C").hexdigest()
    kept = f'{{"bytes":3,"kept_utc":"2026-03-01T20:00:00.000Z","name":"log.csv","sha256":"{digest}"}}'
    assert chain["source"].own == sha256(kept.encode()).digest()
    assert found(db, firing_id).state == "whole"


def as_an_older_version_chained_it(db, firing_id):
    """Take from a chain the kinds that joined later, and hash the rest anew."""
    rest = [link for link in links.links(db, firing_id) if link.kind not in contents.JOINING | {contents.JOINED}]
    db.execute("DELETE FROM link")
    head = links.START
    for no, link in enumerate(rest):
        after = links.head_after(head, link.kind, link.ref, link.own)
        db.execute("INSERT INTO link VALUES (?, ?, ?, ?, ?, ?)",
                   [firing_id, no, link.kind, link.ref, link.own, after])
        head = after.hex()


def test_a_chain_of_an_older_version_is_whole_and_gets_the_rest_at_night(small, found):
    db, firing_id = small
    as_an_older_version_chained_it(db, firing_id)
    before = found(db, firing_id)
    assert (before.state, links.not_chained(db, 10)) == ("whole", [firing_id])
    outcomes.add_outcome(db, firing_id=firing_id, piece_id=None, words=["haze"], place="", note="", now_utc=NOW)
    assert found(db, firing_id) == before
    with transaction(db):
        links.adopt(db, firing_id, NOW)
        links.adopt(db, firing_id, NOW)
    assert links.not_chained(db, 10) == []
    assert kinds(db, firing_id)[before.links:] == [
        ("joined", int(NOW.timestamp())), ("milestones", 0), ("meter", 0), ("source", 0), ("gap", 600), ("clock", 0),
        ("outcome", 1), ("outcome", 2), ("outcome", 3)]
    assert found(db, firing_id).state == "whole"
    db.execute("UPDATE outcome SET note = 'nicer' WHERE outcome_id = 1")
    assert found(db, firing_id).sentences(UTC) == ["Outcome 1 was changed after it was kept."]


def test_a_firing_that_runs_or_was_removed_is_not_chained_as_a_whole(small, found, tmp_path):
    db, firing_id = small
    bin.put_into_bin(db, firing_id, NOW)
    assert found(db, firing_id).state == "whole"
    bin.empty(db, firing_id, NOW, [tmp_path])
    assert links.not_chained(db, 10) == []
    assert found(db, firing_id).state == "emptied"


def test_a_content_that_json_can_write_is_not_gone_through_value_by_value(monkeypatch):
    def never(value):
        raise AssertionError(f"gone through: {value!r}")

    monkeypatch.setattr(links, "_plain", never)
    assert links.canonical([[5, 12_800, 3, 4, None], [10, None, None, None, 1]]) == (
        b"[[5,12800,3,4,null],[10,null,null,null,1]]")
