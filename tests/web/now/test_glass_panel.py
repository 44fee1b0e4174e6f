"""The glass on Now: the daemon's sentences, live like the rest, and nothing where there is nothing to say."""

from __future__ import annotations

GLASS = {"slabs": [], "hold": None, "lines": [
    "19 mm: the core is 7 °C hotter than the face. Going on like this, 60 °C/h, about 1 to 3 MPa stays in it, "
    "from two cooled faces to one; 19 °C/h would be gentle here."]}


def test_what_the_glass_goes_through_stands_on_now_and_in_what_keeps_it_present(client, studio):
    number = studio.fill(until_s=30_000.0)
    studio.say(number, 30_000.0, glass=GLASS)
    page, live = client.get("/").text, client.get("/now.json").json["blocks"]["glass"]
    for text in (page, live):
        said = text.replace("\u00a0", " ")
        assert "the core is 7 °C hotter than the face" in said
        assert "19 °C/h would be gentle here" in said
        assert "Estimate for flat, even glass" in said


def test_nothing_is_said_of_the_glass_where_nothing_is_known(client, studio):
    number = studio.fill(until_s=30_000.0)
    for glass in (None, {}, {"lines": "nonsense"}, {"lines": [3, None]}):
        studio.say(number, 30_000.0, glass=glass)
        assert "Estimate for flat, even glass" not in client.get("/").text


def test_a_silent_daemon_has_no_glass_to_tell_of(client, studio):
    number = studio.fill(until_s=30_000.0)
    studio.say(number, 30_000.0, glass=GLASS, age_s=60.0)
    assert "would be gentle here" not in client.get("/").text


def test_what_the_daemon_says_of_the_glass_is_text(client, studio):
    number = studio.fill(until_s=30_000.0)
    studio.say(number, 30_000.0, glass={"lines": ["<script>alert(1)</script>"]})
    assert "<script>alert" not in client.get("/").text
