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
    assert "free / 960 / 60 anneal" in page  # as it was typed
    assert "200 / 1180 / 0:15" in client.get("/plans/new?like=1").text


@pytest.mark.parametrize(("steps", "told"), [
    ("", "Write the steps"),
    ("fast to the top", "There is no step yet"),
    ("220 / hot / 10", "“hot” is not understood"),
    ("220 / 670 / soon", "“soon” is not understood"),
    ("-220 / 670 / 10", "The minus sign says that it falls"),
    ("220 / 3000 / 10", "3000 °C is outside"),
    ("\n".join(["220 / 670"] * 60), "at most 40"),
])
def test_a_wrong_plan_is_told_by_its_line_and_kept_as_typed(client, studio, steps, told):
    studio.open_store().close()
    answer = client.post("/plans/new", data={"title": "Mine", "unit": "C", "steps": steps}, headers=SAME)
    assert answer.status_code == 400
    assert told in answer.text.replace("&#39;", "'").replace("\u00a0", " ")
    assert all(line in answer.text for line in steps.splitlines()[:2])
    assert studio.store(plans.plans) == []


PAPER = """Bowl blank (°F)

1. 300  1225  :30   (bubble squeeze)
2. AFAP 1490 10   # look at 1450
3. 9999 960 1h anneal
4. -150 800"""


def test_a_plan_from_paper_in_fahrenheit_is_read_back_drawn_and_listed_in_fahrenheit(client, studio):
    studio.open_store().close()
    answer = client.post("/plans/new", data={"title": "", "unit": "", "steps": PAPER}, headers=SAME)
    assert answer.status_code == 303
    [kept] = studio.store(plans.plans)
    assert (kept.title, kept.parsed().unit) == ("Bowl blank (°F)", "F")
    page = client.get("/plans/1").text.replace("\u00a0", " ")
    assert "Step 1: climb 300 °F/h to 1225 °F, hold 30 min, to squeeze the air out" in page
    assert "2. AFAP 1490 10   # look at 1450" in page  # nothing typed is lost
    assert "°C" not in page.split("<main")[1].split("</main>")[0]
    assert ">1200<" in page.split('class="narrow"')[1].split("</svg>")[0]  # the drawing's axis
    assert "300 / 1225 / 0:30 squeeze, free / 1490 / 0:10, free / 960 / 1:00 anneal, 150 / 800, in °F" \
        in client.get("/plans").text
    assert "# look at 1450" in client.get("/plans/new?like=1").text


def test_a_paper_is_read_without_script_by_a_button_and_nothing_is_kept(client, studio):
    studio.open_store().close()
    answer = client.post("/plans/new", headers=SAME, data={
        "title": "", "unit": "", "steps": PAPER + "\n5. warm", "read": "yes"})
    page = answer.text.replace("\u00a0", " ")
    assert answer.status_code == 200
    assert "Step 4: fall 150 °F/h to 800 °F" in page
    assert "Line 7: “5. warm” is no step." in page
    assert "5. warm" in page.split("<textarea")[1].split("</textarea>")[0]
    assert studio.store(plans.plans) == []


def _steps_offered(client):
    return client.get("/plans/new?like=1").text.split("<textarea")[1].split(">", 1)[1].split("</textarea>")[0]


def test_a_plan_is_renamed_with_its_versions_and_firings(client, studio):
    studio.fill(until_s=9000.0, ended=True)
    assert client.post("/plans/1/rename", data={"title": "Bowl, fused"}, headers=SAME).status_code == 303
    assert "Bowl, fused" in client.get("/plans").text
    assert "By <a href=\"/plans/1\">Bowl, fused</a>" in client.get("/firings/1").text
    assert "1 firing<" in client.get("/plans/1").text
    # The same steps under the new name are no new version.
    steps = _steps_offered(client)
    client.post("/plans/new", data={"title": "Bowl, fused", "unit": "C", "steps": steps}, headers=SAME)
    assert [kept.version for kept in studio.store(plans.plans)] == [1]


def test_a_name_that_another_plan_has_is_refused(client, studio):
    studio.fill(until_s=9000.0, ended=True)
    client.post("/plans/new", data={"title": "Slump", "unit": "C", "steps": "150 650 15"}, headers=SAME)
    answer = client.post("/plans/2/rename", data={"title": "Full fuse, two layers"}, headers=SAME)
    assert answer.status_code == 400
    assert "There is another plan called “Full fuse, two layers”" in answer.text
    assert client.post("/plans/2/rename", data={"title": ""}, headers=SAME).status_code == 400
    assert {kept.title for kept in studio.store(plans.plans)} == {"Slump", "Full fuse, two layers"}


def test_a_copy_is_written_under_a_name_of_its_own(client, studio):
    studio.fill(until_s=9000.0, ended=True)
    page = client.get("/plans/new?copy=1").text
    assert 'value="Copy of Full fuse, two layers"' in page
    assert "free / 516 / 1:00 anneal" in page


def test_a_retired_plan_is_kept_with_its_firings_and_not_offered(client, studio):
    studio.fill(until_s=9000.0, ended=True)
    assert client.post("/plans/1/retire", headers=SAME).status_code == 303
    assert "Full fuse" not in client.get("/plans").text
    assert "Full fuse" not in client.get("/start").text
    assert "Retired plans: 1" in client.get("/plans").text
    assert "Full fuse, two layers" in client.get("/plans?retired=yes").text
    assert "Full fuse, two layers" in client.get("/firings/1").text
    client.post("/plans/1/use-again", headers=SAME)
    assert "Full fuse, two layers" in client.get("/plans").text


def test_writing_a_retired_plan_again_takes_it_into_use(client, studio):
    studio.fill(until_s=9000.0, ended=True)
    client.post("/plans/1/retire", headers=SAME)
    client.post("/plans/new", headers=SAME, data={
        "title": "Full fuse, two layers", "unit": "C", "steps": "200 700 10"})
    assert [(kept.version, kept.retired_utc) for kept in studio.store(plans.plans)] == [(2, None)]


def test_firing_this_again_fills_in_start_with_what_was_fired(client, studio, form_of_start):
    studio.fill(until_s=9000.0, ended=True)
    client.post("/plans/new", headers=SAME, data={
        "title": "Full fuse, two layers", "unit": "C", "steps": "200 700 10"})
    for page in ("/firings/1", "/plans/1"):
        address = client.get(page).text.split('href="/start?title=')[1].split('"')[0]
        form = client.get("/start?title=" + address.replace("&amp;", "&")).text
        assert 'value="Bowl blank, river glass"' in form
        assert 'name="piece" value="1" checked' in form
        assert '<option value="1" selected>Full fuse, two layers' in form  # the version that was fired
        assert 'name="thickness" value="6"' in form
    asked = client.post("/start", headers=SAME, data=form_of_start(client, piece="1", plan="1", thickness="6"))
    assert asked.status_code == 303
    assert studio.asked()[0][1]["plan_id"] == 1
