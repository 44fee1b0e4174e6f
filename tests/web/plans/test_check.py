"""Plans: drawn and checked while typed, the cooling filled in, versions kept and none changed."""

from __future__ import annotations

from daemon.glass.advice import anneal
from daemon.glass.materials import FAMILIES
from daemon.store import firings, plans

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
STEPS = "220 / 670 / 0:30\nfree / 800 / 10\nfree / 516 / 1:00 anneal\n55 / 460\n110 / 370\n150 / 60"


def _plain(text):
    return text.replace("\u00a0", " ").replace("&nbsp;", " ")


def test_a_plan_is_drawn_and_checked_while_it_is_typed_and_nothing_is_kept(client, studio):
    studio.open_store().close()
    said = client.post("/plans/drawing.json", headers=SAME, data={
        "title": "", "unit": "C", "steps": STEPS, "thickness": "6", "glass": "90", "faces": "1"}).json
    assert said["wrong"] == ""
    assert "<svg" in said["html"]
    assert "Nothing doubtful for 6 mm" in _plain(said["html"])
    thick = client.post("/plans/drawing.json", headers=SAME, data={
        "unit": "C", "steps": STEPS, "thickness": "25", "glass": "90", "faces": "1"}).json
    assert "Step 4 falls 55 °C/h; 25 mm ordinarily bears about" in _plain(thick["html"])
    for odd in ("0.25", "500", "thick"):
        said = client.post("/plans/drawing.json", headers=SAME, data={
            "unit": "C", "steps": STEPS, "thickness": odd, "glass": "90", "faces": "1"}).json
        assert "not checked for that thickness" in said["html"]
        assert "Nothing doubtful" not in said["html"]
    half = client.post("/plans/drawing.json", headers=SAME, data={"unit": "C", "steps": "220 / 67x"}).json
    assert half["wrong"] == "Not read yet: line 1. What is wrong is said with each."
    assert "“67x” is not understood" in half["read"]
    assert studio.store(plans.plans) == []


def test_the_cooling_is_filled_in_as_the_anneal_command_advises(client, studio):
    studio.open_store().close()
    page = client.post("/plans/new", headers=SAME, data={
        "title": "Thick", "unit": "C", "first": "rate", "steps": STEPS, "thickness": "19", "glass": "90",
        "faces": "1", "fill": "cooling"})
    advice = anneal(FAMILIES["90"], 19.0, 1)
    assert page.status_code == 200
    typed = page.text.split('<textarea id="steps"')[1].split(">", 1)[1].split("</textarea>")[0].splitlines()
    assert typed[:2] == ["220 / 670 / 0:30", "free / 800 / 0:10"]  # the climb stays
    assert typed[2].startswith(f"free / {advice.hold_c:.0f} / ")
    assert typed[3].startswith(f"{advice.stages[0].rate_c_per_h:.0f} / {advice.stages[0].to_c:.0f}")
    assert "Why:" in page.text
    assert studio.store(plans.plans) == []


def test_uneven_work_is_reckoned_as_twice_its_thickness(client, studio):
    studio.open_store().close()
    page = client.post("/plans/drawing.json", headers=SAME, data={
        "unit": "C", "steps": STEPS, "thickness": "6", "uneven": "yes"}).json
    assert "12 mm of" in _plain(page["html"])


def test_a_new_version_leaves_the_old_one_and_its_firings_as_they_were(client, studio):
    studio.fill(until_s=9000.0, ended=True)
    client.post("/plans/new", headers=SAME, data={
        "title": "Full fuse, two layers", "unit": "C", "steps": STEPS.replace("55 /", "40 /")})
    old, new = client.get("/plans/1").text, client.get("/plans/2").text
    assert "55 / 460" in old
    assert "Version 1 of 2" in old
    assert "40 / 460" in new
    assert "1 firing<" in new
    assert studio.store(lambda db: firings.firing(db, 1)).plan_id == 1
    assert "version 1" not in client.get("/plans").text


def test_a_plan_s_page_checks_it_for_another_load(client, studio):
    studio.fill(until_s=9000.0, ended=True)
    page = client.get("/plans/1?thickness=25&glass=90&faces=1").text
    assert "Doubtful for 25" in page
    wrong = client.get("/plans/1?thickness=banana").text
    assert "“banana” is not a number" in wrong
