"""The page that lays firings over each other: alignment, stretches, order, photographs, and its size."""

from __future__ import annotations

import re
from datetime import timedelta
from io import BytesIO

from PIL import Image

from daemon.store import bin, firings, judgements

ADDRESS = "/compare?firing=1&firing=2&by=start"


def test_firings_are_laid_together_each_way(client, hazy):
    for by in ("process", "anneal", "clock", "start", "nonsense"):
        page = client.get(f"/compare?firing=1&firing=2&firing=77&by={by}").text
        assert len(_drawn(page)[0]) == len(hazy)
        assert "need not be cause and effect" in page
        assert "never reached the point" not in page


def test_one_that_still_runs_is_named(client, studio, hazy):
    del hazy
    studio.fill(until_s=20_000.0, title="Runs")
    assert "Firing C still runs: its figures go as far as now." in client.get(f"{ADDRESS}&firing=3").text
    assert "still runs" not in client.get(ADDRESS).text


def test_one_that_broke_off_is_named(client, studio, hazy):
    studio.store(lambda db: judgements.add_judgement(
        db, hazy[1], {"finished": False, "peak_c": 500.0}, "1", studio.clock.wall))
    assert "Firing B broke off, or was begun anew: its figures are of what ran" in client.get(ADDRESS).text
    studio.store(lambda db: judgements.add_judgement(
        db, hazy[1], {"finished": True, "peak_c": 788.0}, "1", studio.clock.wall))
    assert "broke off" not in client.get(ADDRESS).text


def test_one_that_never_came_to_where_all_are_laid_together_is_named(client, studio, hazy):
    cold = studio.fill(until_s=7000.0, ended=True, title="Left at 500")
    page = client.get(f"/compare?firing={hazy[0]}&firing={hazy[1]}&firing={cold}&by=anneal").text
    assert "Firing C never reached the point where the curves are laid together" in page


def _drawn(page):
    """Return the points of the first narrow drawing's lines, and the words of its temperature axis."""
    drawing = page.split('class="narrow"')[1].split("</svg>")[0]
    strokes = re.findall(r'class="measured" d="([^"]*)"', drawing)
    return [len(re.findall(r"[ML]", stroke)) for stroke in strokes], re.findall(
        r'text-anchor="end"[^>]*>(\d+)<', drawing)


def test_a_stretch_is_drawn_as_large_as_there_is_room_for(client, hazy):
    del hazy
    whole, near = client.get(ADDRESS).text, client.get(f"{ADDRESS}&from=1&to=2").text
    curves = whole.split('id="facts"')[0]
    assert re.findall(r"<h3[^>]*>([^<]*)</h3>", curves) == ["Around the top", "The whole firing"]
    assert '<h3 class="what">From +1\u00a0h to +2\u00a0h</h3>' in near
    assert near.count('class="narrow"') == 1
    assert len(_drawn(near)[1]) >= 2
    assert "All of it" in near
    assert "All of it" not in whole
    assert "from=1.25" in near  # closer, about the same middle


def test_a_stretch_that_is_none_is_all_of_it(client, studio):
    for title in ("One", "Two"):
        studio.fill(until_s=20_000.0, ended=True, title=title)
    for stretch in ("from=x&to=1e400", "from=3&to=3", "from=9&to=2", "from=-999&to=999", "to=nan"):
        page = client.get(f"{ADDRESS}&{stretch}")
        assert page.status_code == 200
        assert "All of it" not in page.text


def test_the_oldest_is_firing_a_unless_another_is_asked_to_be(client, studio, hazy):
    earlier = studio.clock.wall - timedelta(days=9)
    studio.store(lambda db: firings.date_firing(db, hazy[1], earlier))
    assert _titles(client.get(ADDRESS).text) == ["Dune tiles", "Reed dish"]
    assert _titles(client.get(f"{ADDRESS}&first={hazy[0]}").text) == ["Reed dish", "Dune tiles"]
    assert "Firing B spent" in client.get(f"{ADDRESS}&first={hazy[0]}").text


def _titles(page):
    return re.findall(r'<b>[A-F]</b><div><a href="/firings/\d+">([^<]*)</a>', page)


def test_photographs_stand_side_by_side_and_one_without_any_says_so(client, hazy):
    body = BytesIO()
    Image.new("RGB", (60, 40), (90, 130, 120)).save(body, "JPEG")
    client.post(f"/firings/{hazy[1]}/photographs", headers={"Origin": "http://localhost"},
                content_type="multipart/form-data",
                data={"photograph": (BytesIO(body.getvalue()), "a.jpg"), "caption": "on the light box"})
    page = client.get(ADDRESS).text
    row = page.split("<h3>Photographs</h3>")[1].split("</ol>")[0]
    first, second = row.split("</li>")[:2]
    assert "none" in first
    assert 'alt="on the light box, firing B"' in second


def test_a_deleted_firing_is_not_compared(client, studio, hazy):
    studio.store(lambda db: bin.put_into_bin(db, hazy[1], studio.clock.wall))
    assert "One of those is no firing kept here." in client.get(ADDRESS).text


def test_one_unit_is_used_on_the_whole_page(studio, hazy):
    del hazy
    studio.unit = "F"
    page = studio.app().test_client().get(ADDRESS).text
    assert "°C" not in page
    assert "1292 to 1400\u00a0°F" in page


def test_six_firings_of_a_night_each_fit_in_150_kb(client, studio, hazy):
    """The limit of any page besides the plotting library (DESIGN, figures)."""
    more = [studio.fill(until_s=45_000.0, ended=True, title=f"Tile {n}") for n in range(4)]
    asked = "&".join(f"firing={number}" for number in (*hazy, *more))
    assert len(client.get(f"/compare?{asked}").data) < 150_000


def test_firings_without_a_reading_are_compared_by_what_was_written(client, studio, hazy):
    db = studio.open_store()
    for title in ("Never lit", "Not lit either"):
        number = firings.open_firing(
            db, kiln_id=1, probe_id=1, title=title, opened_by="maker", started_utc=studio.clock.wall, boot_id="boot",
            clock_s=0.0)
        firings.end_firing(db, number, 60.0, studio.clock.wall, "maker")
    db.close()
    both = client.get("/compare?firing=3&firing=4")
    assert both.status_code == 200
    assert "The whole firing" in both.text
    with_one = client.get(f"/compare?firing={hazy[0]}&firing=3").text
    assert "not seen" in with_one
    assert "No plan" in with_one


def test_a_judged_firing_has_the_peak_and_the_minutes_of_its_own_page(client, studio, hazy):
    number = hazy[0]
    studio.store(lambda db: judgements.add_judgement(db, number, {
        "verdict": [], "peak_c": 806.4, "glass": {
            "haze_range_s": {"rising": 480.0, "falling": 840.0}, "time_above_s": {"760": 1980.0}}},
        "1", studio.clock.wall))
    own = client.get(f"/firings/{number}").text.replace("\u00a0", " ")
    assert "8 min rising, 14 min falling" in own
    assert "highest 806" in own
    page = client.get(f"/compare?firing={number}&firing={hazy[1]}").text.replace("\u00a0", " ")
    cells = re.sub(r"<[^>]*>|\s+", " ", page)
    for figure in ("806 °C", "8 min", "14 min", "33 min"):
        assert figure in cells, figure


def test_a_judgement_without_figures_of_the_glass_leaves_those_of_the_trace(client, studio, hazy):
    number = hazy[0]
    before = client.get(f"/compare?firing={number}&firing={hazy[1]}").text
    studio.store(lambda db: judgements.add_judgement(db, number, {
        "verdict": [], "glass": {"haze_range_s": {"rising": None, "falling": None}, "time_above_s": None}},
        "1", studio.clock.wall))
    assert client.get(f"/compare?firing={number}&firing={hazy[1]}").text == before
