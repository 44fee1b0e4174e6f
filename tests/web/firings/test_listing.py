"""The list and the record: planned against measured, notes as text, odd addresses answered calmly."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest

from daemon.store import firings, notes, outcomes, photographs
from daemon.store.readings import Bucket
from web.firings.curve import curve_svg

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
HOSTILE = '<script>alert("x")</script>'


def test_the_list_is_latest_first_and_marks_what_woke(client, studio):
    studio.fill(ended=True, alert=True, title="First")
    studio.fill(ended=True, title="Second")
    page = client.get("/firings").text
    assert page.index("Second") < page.index("First")
    assert page.count('class="rank wake"') == 1
    assert "highest 800 °C" in page


def test_firings_stand_in_the_order_in_which_they_began_whatever_their_number(client, studio):
    """A firing brought in from another logger has the highest number and the oldest date."""
    studio.fill(until_s=300.0, ended=True, title="Last night")
    studio.clock.wall -= timedelta(days=400)
    studio.fill(until_s=300.0, ended=True, title="Two winters ago")
    page = client.get("/firings").text
    assert page.index("Last night") < page.index("Two winters ago")


def test_the_list_has_pages_and_odd_page_numbers_do_no_harm(client, studio, monkeypatch):
    import web.firings.listing

    monkeypatch.setattr(web.firings.listing, "PAGE", 2)
    for number in range(5):
        studio.fill(until_s=300.0, ended=True, title=f"Firing {number}")
    assert "Firing 4" in client.get("/firings").text
    assert "Firing 4" not in client.get("/firings?page=2").text
    assert "Firing 0" in client.get("/firings?page=3").text
    for odd in ("0", "-3", "x", "99999999999", "1e5", "٣"):
        assert client.get(f"/firings?page={odd}").status_code == 200


def test_a_record_sets_planned_against_measured_by_part(client, studio):
    number = studio.fill(until_s=40_000.0, ended=True, alert=True)
    page = client.get(f"/firings/{number}").text
    row = re.search(r"<tr[^>]*>(?:(?!</tr>).)*step 3, hold(?:(?!</tr>).)*</tr>", page, re.S)[0]
    cells = [re.sub(r"<[^>]+>", "", c).strip() for c in re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row, re.S)]
    assert cells[2:] == ["516\u00a0°C for 1\u00a0h\u00a000\u00a0min", "513\u00a0°C", "1\u00a0h\u00a000\u00a0min"]
    assert "cooling too fast" in page


def test_a_note_shows_as_text_and_never_as_anything_else(client, studio):
    number = studio.fill(ended=True)
    text = f"{HOSTILE}\n=1+1\n{{{{ 7*7 }}}} & ünïcode"
    assert client.post(f"/firings/{number}/note", data={"note": text}, headers=SAME).status_code == 303
    page = client.get(f"/firings/{number}").text
    assert "&lt;script&gt;alert(&#34;x&#34;)&lt;/script&gt;" in page
    assert HOSTILE not in page
    assert "{{ 7*7 }}" in page
    assert studio.store(lambda db: notes.notes(db, number))[0].text == text


def test_hostile_titles_stay_text_on_every_page_and_in_the_json(client, studio):
    number = studio.fill(title=HOSTILE, alert=True)
    studio.say(number, alert=True, sentence=HOSTILE, trouble=[{"ailing": HOSTILE, "text": HOSTILE}])
    for path in ("/", "/firings", f"/firings/{number}", f"/firings/{number}/name", "/start"):
        assert "<script>alert" not in client.get(path).text
    for block in client.get("/now.json").json["blocks"].values():
        assert "<script" not in block


@pytest.mark.parametrize("path", [
    "/firings/0", "/firings/99", "/firings/99999999999999999999999", "/plans/99", "/plans/99999999999999999999999",
    "/firings/99/trace.json", "/firings/-1", "/firings/1.5", "/nothing", "/static/../web/passcode.py",
    "/static/..%2f..%2fpyproject.toml", "/plotly-0000.js",
])
def test_what_is_not_there_is_said_calmly(client, studio, path):
    studio.fill()
    answer = client.get(path)
    assert answer.status_code == 404
    assert "Lehrling" in answer.text


def test_firings_are_found_by_title_piece_plan_note_glass_outcome_day_and_whether_they_strayed(client, studio):
    from datetime import timedelta

    from daemon.store import notes, outcomes

    plain = studio.fill(until_s=3000.0, ended=True, title="Plain one")
    studio.clock.wall += timedelta(days=10)
    told = studio.fill(until_s=3000.0, ended=True, alert=True, title="Told 100%_one")
    studio.store(lambda db: notes.add_note(db, plain, "Left the vent open", studio.clock.wall))
    studio.store(lambda db: outcomes.add_outcome(db, firing_id=told, piece_id=2, words=["needle points"], place="",
                                                 note="", now_utc=studio.clock.wall))
    asks = {
        "q=plain": "Plain one", "q=vent+OPEN": "Plain one", "q=100%25_": "Told 100%_one",
        "strayed=yes": "Told 100%_one", "outcome=needle+points": "Told 100%_one",
        "since=2026-03-10": "Told 100%_one", "until=2026-03-04": "Plain one",
    }
    for query, title in asks.items():
        page = client.get(f"/firings?{query}").text
        assert title in page, query
        assert ("Plain one" in page) + ("Told 100%_one" in page) == 1, query
    for query in ("q=river", "glass=90", "plan=Full+fuse,+two+layers", "since=nonsense"):
        page = client.get(f"/firings?{query}").text
        assert "Plain one" in page, query
        assert "Told 100%_one" in page, query
    for query in ("q=heron", "plan=Another+plan"):
        assert "None like that" in client.get(f"/firings?{query}").text, query
    assert "“nonsense” is no day" in client.get("/firings?since=nonsense").text


def test_a_list_is_looked_at_before_it_is_read(client, studio):
    """Month, curve, outcome, photograph, and what got the maker up."""
    number = studio.fill(ended=True, alert=True, title="Leaf tile")
    piece = studio.store(lambda db: firings.firing(db, number)).piece_ids[0]
    studio.store(lambda db: outcomes.add_outcome(db, firing_id=number, piece_id=piece, words=["clear", "haze"],
                                                 place="", note="", now_utc=studio.clock.wall))
    studio.store(lambda db: photographs.add_photograph(
        db, piece_id=piece, firing_id=None, moment="before", mark="a" * 64, width=160, height=120, caption="",
        now_utc=studio.clock.wall))
    page = client.get("/firings").text
    assert re.search(r"<h2[^>]*>[A-Z][a-z]+ 20[0-9]{2}</h2>", page)
    assert "Came out: <strong>clear, haze</strong>" in page
    assert re.search(r'Get up</span>: cooling too fast', page)
    assert f'src="/photographs/{"a" * 64}-thumb.jpg"' in page
    assert f'src="/firings/{number}/curve.svg?v=31000"' in page


def test_the_small_curve_is_drawn_once_and_kept(client, studio, monkeypatch):
    number = studio.fill(ended=True)
    answer = client.get(f"/firings/{number}/curve.svg")
    assert answer.mimetype == "image/svg+xml"
    assert "immutable" in answer.headers["Cache-Control"]
    points = [(float(x), float(y)) for x, y in re.findall(r"[ML]([0-9.]+) ([0-9.]+)", answer.text)][1:]
    assert len(points) > 30
    assert all(0 <= x <= 96 and 0 <= y <= 36 for x, y in points)
    # 800 of 850 °C is the top: 1.5 + 33 · 50 / 850 = 3.4 px from the upper edge.
    assert min(y for _, y in points) == pytest.approx(3.4, abs=0.8)
    monkeypatch.setattr("web.firings.curve.curve_svg", lambda columns: "drawn again")
    assert client.get(f"/firings/{number}/curve.svg").text == answer.text


def test_the_curve_of_a_firing_that_runs_is_not_kept(client, studio):
    number = studio.fill(until_s=9000.0)
    assert "immutable" not in client.get(f"/firings/{number}/curve.svg").headers["Cache-Control"]


def test_where_nothing_was_read_the_curve_is_broken():
    columns = [Bucket(0, 20.0, 20.0, 20.0), Bucket(60, None, None, None), Bucket(120, 40.0, 40.0, 40.0)]
    assert curve_svg(columns).count("M") == 3  # the ground line, and two strokes of the pen
    assert "<svg" in curve_svg([])


def test_filters_and_page_stay_in_the_address(client, studio, monkeypatch):
    monkeypatch.setattr("web.firings.listing.PAGE", 2)
    for number in range(5):
        studio.fill(until_s=300.0, ended=True, title=f"Tile {number}")
    studio.fill(until_s=300.0, ended=True, title="Bowl")
    page = client.get("/firings?q=Tile&glass=90").text
    further = html.unescape(re.search(r'href="(/firings\?page=2[^"]*)"', page)[1])
    assert "q=Tile" in further
    assert "glass=90" in further
    second = client.get(further).text
    assert "Bowl" not in second
    assert second.count('class="title"') == 2
