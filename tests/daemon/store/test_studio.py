"""Pieces, plans, notes, kilns, settings and requests: what people write."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.errors import BadInput
from daemon.store import kilns, notes, own_facts, pieces, plans, requests

NOW = datetime(2026, 3, 1, 12, 0, 0, tzinfo=UTC)
PLAN = 'title = "Slump"\nunit = "C"\n\n[[step]]\nrate = 100\nto = 640\nhold_min = 10\n'


def test_pieces_come_back_latest_first(db):
    bowl = pieces.add_piece(db, name="Reed bowl", glass="90", thickness_mm=6, now_utc=NOW, layers="2 × 3 mm")
    tray = pieces.add_piece(db, name="Tide tray", glass="96", thickness_mm=9.5, now_utc=NOW, note="thick rim")
    assert [(p.piece_id, p.name, p.thickness_mm) for p in pieces.pieces(db)] == [
        (tray, "Tide tray", 9.5), (bowl, "Reed bowl", 6.0)]
    assert pieces.piece(db, bowl).layers == "2 × 3 mm"
    assert pieces.piece(db, 99) is None


def test_a_changed_plan_is_a_new_version_and_the_old_one_stays(db):
    first = plans.add_plan(db, PLAN, NOW)
    second = plans.add_plan(db, PLAN.replace("640", "650"), NOW)
    assert [(p.plan_id, p.version) for p in plans.plans(db)] == [(second, 2)]
    assert plans.plan(db, first).parsed().highest_c == 640
    assert plans.plan(db, second).parsed().highest_c == 650


def test_the_same_text_is_not_kept_twice(db):
    first = plans.add_plan(db, PLAN, NOW)
    other = plans.add_plan(db, PLAN.replace("Slump", "Bend"), NOW)
    assert (plans.add_plan(db, PLAN, NOW), plans.add_plan(db, PLAN.replace("Slump", "Bend"), NOW)) == (first, other)
    assert db.execute("SELECT count(*) FROM plan").fetchone()[0] == 2


def test_every_version_of_a_plan_can_be_looked_at_and_how_often_it_was_fired(db, open_one):
    first = plans.add_plan(db, PLAN, NOW)
    later = NOW + timedelta(days=1)
    second = plans.add_plan(db, PLAN.replace("640", "650"), later)
    other = plans.add_plan(db, PLAN.replace("Slump", "Bend"), later)
    found = plans.versions(db, "Slump")
    assert [(p.plan_id, p.version, p.created_utc) for p in found] == [(second, 2, later), (first, 1, NOW)]
    assert [p.plan_id for p in plans.plans(db)] == [other, second], "by title"
    assert [p.plan_id for p in plans.plans_then(db, NOW)] == [first]
    assert [p.plan_id for p in plans.plans_then(db, later)] == [other, second]
    assert plans.plans_then(db, NOW - timedelta(seconds=1)) == []
    open_one(plan_id=first)
    assert plans.fired(db, "Slump") == {first: 1}
    assert plans.fired(db, "Bend") == {}
    assert plans.plan(db, 99) is None


def test_a_text_that_was_the_plan_once_is_a_new_version_again(db):
    for number, to_c in enumerate(("640", "650", "640"), start=1):
        assert plans.plan(db, plans.add_plan(db, PLAN.replace("640", to_c), NOW)).version == number


def test_what_is_no_plan_is_refused_and_nothing_kept(db):
    with pytest.raises(BadInput, match="my plan"):
        plans.add_plan(db, PLAN.replace("640", "9000"), NOW, source="my plan")
    assert plans.plans(db) == []


def test_notes_stand_in_the_order_they_were_written(db, open_one):
    firing_id = open_one()
    notes.add_note(db, firing_id, "Vent shut at 400.", NOW)
    notes.add_note(db, firing_id, "<b>Rim</b> looks fine.", NOW + timedelta(hours=9))
    kept = [note.text for note in notes.notes(db, firing_id)]
    assert kept == ["Vent shut at 400.", "<b>Rim</b> looks fine."]


def test_a_kiln_and_its_probe_are_made_once(db):
    kiln = kilns.kiln_id(db, "Back room kiln")
    assert kilns.kiln_id(db, "Back room kiln") == kiln
    probe = kilns.probe_id(db, kiln, "max31856", "K")
    assert kilns.probe_id(db, kiln, "max31856", "K") == probe
    assert kilns.probe_id(db, kiln, "max31856", "N") != probe
    assert kilns.kilns(db) == {kiln: "Back room kiln"}
    assert [(p.name, p.thermocouple_type) for p in kilns.probes(db, kiln)] == [("max31856", "K"), ("max31856", "N")]
    assert kilns.find(db, "Front room kiln") is None
    front = kilns.kiln_id(db, "Front room kiln")
    assert front != kiln
    assert kilns.probes(db, front) == []
    assert kilns.probe_id(db, front, "max31856", "K") != probe


def test_a_setting_is_replaced(db):
    assert own_facts.setting(db, "checked_utc") is None
    own_facts.put_setting(db, "checked_utc", "a")
    own_facts.put_setting(db, "checked_utc", "b")
    assert own_facts.setting(db, "checked_utc") == "b"


def test_a_request_is_pending_until_it_is_settled_and_keeps_its_first_outcome(db):
    one = requests.put(db, "start", {"title": "Bowl", "piece_ids": [1]}, NOW, ttl_s=60)
    two = requests.put(db, "end", {"firing_id": 1}, NOW, ttl_s=60)
    assert [r.request_id for r in requests.pending(db)] == [one, two]
    found = requests.pending(db)[0]
    assert (found.kind, found.payload, found.wall_utc) == ("start", {"title": "Bowl", "piece_ids": [1]}, NOW)
    assert found.expires_utc == NOW + timedelta(seconds=60)
    requests.settle(db, one, "done", NOW)
    requests.settle(db, one, "expired", NOW + timedelta(hours=1))
    assert [r.request_id for r in requests.pending(db)] == [two]
    settled = requests.request(db, one)
    assert (settled.outcome, settled.taken_utc) == ("done", NOW)
    assert (requests.request(db, two).outcome, requests.request(db, two).taken_utc) == (None, None)
    assert requests.request(db, 99) is None


def test_an_unknown_kind_is_a_mistake_of_the_caller(db):
    with pytest.raises(ValueError, match="no kind of request"):
        requests.put(db, "explode", {}, NOW, ttl_s=60)
