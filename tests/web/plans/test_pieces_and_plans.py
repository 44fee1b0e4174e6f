"""Pieces and plans are kept as written, or told field by field and line by line."""

from __future__ import annotations

import pytest

from daemon.store import pieces, plans

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


def test_a_piece_is_kept(client, studio):
    studio.open_store().close()
    answer = client.post("/pieces/new", headers=SAME, data={
        "name": "Reed dish", "thickness": "9", "glass": "96", "layers": "three of 3 mm", "note": "washed"})
    assert answer.status_code == 303
    kept = studio.store(pieces.pieces)[0]
    assert (kept.name, kept.thickness_mm, kept.glass, kept.note) == ("Reed dish", 9.0, "96", "washed")
    assert "Reed dish" in client.get("/pieces").text


@pytest.mark.parametrize(("typed", "told"), [
    ({"name": "", "thickness": "6"}, "Give the piece a name"),
    ({"name": "x", "thickness": ""}, "how thick"),
    ({"name": "x", "thickness": "-4"}, "outside 0.5 to 150 mm"),
    ({"name": "x", "thickness": "nan"}, "is not a number"),
    ({"name": "x", "thickness": "1e999"}, "is not a number"),
    ({"name": "x" * 500, "thickness": "6"}, "at most 120"),
    ({"name": "x", "thickness": "6", "glass": "unobtainium"}, "Choose one of the list"),
])
def test_a_wrong_piece_is_told_and_not_kept(client, studio, typed, told):
    studio.open_store().close()
    answer = client.post("/pieces/new", data=typed, headers=SAME)
    assert answer.status_code == 400
    assert told in answer.text
    assert studio.store(pieces.pieces) == []


def test_a_plan_written_as_on_paper_is_kept_and_a_changed_one_is_a_new_version(client, studio):
    studio.open_store().close()
    typed = {"title": "Slump", "unit": "F", "steps": "200 / 1180 / 0:15\nfree / 960 / 60 anneal\n100 / 700"}
    assert client.post("/plans/new", data=typed, headers=SAME).status_code == 303
    assert client.post("/plans/new", data=typed, headers=SAME).status_code == 303
    client.post("/plans/new", data=typed | {"steps": "200 / 1190 / 0:15"}, headers=SAME)
    [kept] = studio.store(plans.plans)
    assert kept.version == 2
    assert studio.store(lambda db: plans.plan(db, 1)).parsed().steps[0].to_c == pytest.approx((1180 - 32) / 1.8)
    page = client.get("/plans/1").text
    assert "free / 960 / 1:00 anneal" in page
    assert "200 / 1180 / 0:15" in client.get("/plans/new?like=1").text


@pytest.mark.parametrize(("steps", "told"), [
    ("", "Write the steps"),
    ("fast to the top", "“to” is not a target"),
    ("220 / hot / 10", "“hot” is not a target"),
    ("220 / 670 / soon", "“soon” is not a hold"),
    ("-220 / 670 / 10", "not above 0"),
    ("220 / 3000 / 10", "3000 °C is outside"),
    ("\n".join(["220 / 670"] * 60), "at most 40"),
])
def test_a_wrong_plan_is_told_by_its_line_and_kept_as_typed(client, studio, steps, told):
    studio.open_store().close()
    answer = client.post("/plans/new", data={"title": "Mine", "unit": "C", "steps": steps}, headers=SAME)
    assert answer.status_code == 400
    assert told in answer.text.replace("&#39;", "'")
    assert all(line in answer.text for line in steps.splitlines()[:2])
    assert studio.store(plans.plans) == []
