"""A piece is a chain of firings: what each did, how it came out, and what the next one must respect."""

from __future__ import annotations

from datetime import timedelta

import pytest

from daemon.glass.materials import FAMILIES
from daemon.store import outcomes, pieces
from web.pieces.next_firing_advice import Been, respects

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
GLASS = FAMILIES["90"]
FUSED = Been("Fri 13 Nov", 799.0, False, ("clear",))


def test_a_fused_piece_is_one_plate_and_a_new_one_has_nothing_to_respect():
    assert respects([], 6.0, GLASS, "", "C") == ()
    [words] = respects([FUSED], 6.0, GLASS, "", "C")
    assert "Below 540 °C climb no faster than about 150 °C/h" in words
    assert "Below 1004 °F climb no faster than about 270 °F/h" in respects([FUSED], 6.0, GLASS, "", "F")[0]
    # Its own glass and thickness: float is brittle below 570 °C, and 12 mm climb at 80 °C/h.
    assert "Below 570 °C climb no faster than about 80 °C/h" in respects([FUSED], 12.0, FAMILIES["float"], "", "C")[0]


def test_a_slumped_piece_loses_its_shape_and_low_fire_colour_burns_out():
    found = respects([FUSED, Been("Sat", 651.0, False, ())], 6.0, GLASS, "low-fire", "C")
    assert any("seems to have been slumped" in words for words in found)
    assert any("Low-fire colour" in words and "620 °C" in words for words in found)
    assert any("fumes" in words for words in found)


def test_a_short_anneal_and_a_crack_come_first():
    found = respects([FUSED, Been("Sat", 799.0, True, ("crack",))], 6.0, GLASS, "", "C")
    assert "cracked" in found[0]
    assert "anneal hold" in found[1]


def test_what_is_typed_about_a_piece_is_kept_and_checked(client, studio):
    studio.open_store().close()
    wrong = client.post("/pieces/new", headers=SAME, data={
        "name": "Dish", "thickness": "4", "thinnest": "6", "glass": "90", "separator": "paper"})
    assert wrong.status_code == 400
    assert "6 mm is more than the thickest place" in wrong.text
    assert 'value="Dish"' in wrong.text
    right = client.post("/pieces/new", headers=SAME, data={
        "name": "Dish", "thickness": "6", "thinnest": "4.5", "glass": "90", "separator": "paper",
        "colour": "low-fire"})
    assert right.headers["Location"] == "/pieces/1"
    page = client.get("/pieces/1").text
    assert "4.5\u00a0mm at its thinnest" in page
    assert "Low-fire enamel or decal" in page
    client.post("/pieces/1/change", headers=SAME, data={"name": "Deep dish", "thickness": "8", "glass": "96"})
    assert studio.store(lambda db: pieces.piece(db, 1)).name == "Deep dish"


def test_a_drying_piece_says_until_when_and_is_not_fired_unawares(client, studio, form_of_start):
    number = studio.fill(until_s=3000.0, ended=True)
    del number
    assert client.post("/pieces/1/drying", headers=SAME, data={"hours": "12"}).status_code == 303
    assert "12 h 00 min from now" in client.get("/pieces/1").text.replace("\u00a0", " ")
    assert "dries until" in client.get("/pieces").text
    stopped = client.post("/start", headers=SAME, data=form_of_start(client, piece="1"))
    assert stopped.status_code == 400
    assert "River bowl" in stopped.text
    assert "still dries" in stopped.text
    assert studio.asked() == []
    assert client.post("/start", headers=SAME, data=form_of_start(client, piece="1", wet="yes")).status_code == 303
    studio.clock.wall += timedelta(hours=13)
    assert "It has dried since" in client.get("/pieces/1").text
    assert client.post("/start", headers=SAME, data=form_of_start(client, piece="1")).status_code == 303


@pytest.mark.parametrize(("data", "said"), [
    ({"word": ["clear", "haze"]}, "can’t both be"), ({}, "Choose at least one word"),
    ({"word": ["lovely"]}, "Choose words of the list"), ({"word": ["clear"], "place": "rim"}, "Choose crack"),
])
def test_an_outcome_that_can_t_be_is_asked_again_and_nothing_is_lost(client, studio, data, said):
    studio.fill(until_s=3000.0, ended=True)
    answer = client.post("/firings/1/pieces/1/outcome", headers=SAME, data={**data, "note": ""})
    assert answer.status_code == 400
    assert said in answer.text
    assert studio.store(lambda db: outcomes.of_piece(db, 1)) == {}


def test_an_outcome_stands_with_the_firing_and_with_the_piece(client, studio):
    studio.fill(until_s=30_000.0, ended=True)
    client.post("/firings/1/pieces/1/outcome", headers=SAME, data={
        "word": ["bubbles", "crack"], "place": "from the rim", "note": "<b>two</b>"})
    for page in ("/firings/1", "/pieces/1", "/firings/1/card"):
        text = client.get(page).text
        assert "bubbles, crack" in text, page
        assert "<b>two</b>" not in text


def test_pieces_have_pages_a_search_and_their_photograph(client, studio, monkeypatch):
    from daemon.store import photographs, pieces

    monkeypatch.setattr("web.pieces.listing.PAGE", 2)
    studio.open_store().close()
    numbers = [studio.store(lambda db, n=n: pieces.add_piece(
        db, name=f"Dish {n}", glass="90", thickness_mm=6.0, now_utc=studio.clock.wall,
        note="50 % amber" if n else ""))
        for n in range(5)]
    studio.store(lambda db: photographs.add_photograph(
        db, piece_id=numbers[4], firing_id=None, moment="after", mark="b" * 64, width=160, height=120,
        caption="in daylight", now_utc=studio.clock.wall))
    page = client.get("/pieces").text
    assert f'src="/photographs/{"b" * 64}-thumb.jpg"' in page
    assert 'alt="in daylight"' in page
    assert "Dish 4" in page
    assert "Dish 0" not in page
    assert "Dish 0" in client.get("/pieces?page=3").text
    found = client.get("/pieces?q=50 %25 amber").text
    assert "Dish 4" in found
    assert 'href="/pieces?page=2&amp;q=50+%25+amber"' in found
    assert "None like that." in client.get("/pieces?q=_").text
