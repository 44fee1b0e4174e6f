"""What was written of compared firings: only what is not the same, and steps of plans that differ."""

from __future__ import annotations

import re
from html import unescape

import pytest

from daemon.store import outcomes, pieces


@pytest.fixture
def page(client, hazy):
    return unescape(client.get(f"/compare?firing={hazy[0]}&firing={hazy[1]}").text).replace("\u00a0", " ")


def fact(page, name):
    """Return the cells of one fact as text; None where the page has no such row."""
    found = re.search(rf"<h3>{name}</h3>(.*?)</ol>", page, re.DOTALL)
    if found is None:
        return None
    cells = re.findall(r"<li>(.*?)</li>", found[1], re.DOTALL)
    return [" ".join(re.sub(r"<p class=\"who\">.*?</p>|<[^>]*>", " ", cell).split()) for cell in cells]


def test_layers_and_separator_stand_beside_each_other(page):
    assert fact(page, "Layers") == ["3 mm clear under 3 mm amber", "3 mm clear under 3 mm sand"]
    assert fact(page, "Separator") == ["shelf wash, fresh", "fibre paper, used twice"]
    assert "Not the same: plan, layers and separator." in page


def test_of_a_plan_only_the_steps_that_differ_are_shown(page):
    first, second = fact(page, "Plan")
    assert first == "Full fuse, two layers Step 2: climb as fast as the kiln goes to 800 °C, hold 10 min, the top"
    assert second == ("Full fuse, two layers, version 2 Step 2: climb 110 °C/h to 788 °C, hold 10 min, the top "
                      "The other steps as in firing A.")


def test_how_it_came_out_and_the_notes_are_shown_and_what_has_none_says_so(page):
    assert fact(page, "Came out") == ["clear Seen under a lamp: clear.", "haze Seen under a lamp: haze."]
    assert fact(page, "Notes")[0] == "nothing"


def test_a_note_is_text_and_nothing_else(client, hazy):
    assert "Edges &lt;ground&gt;, washed once." in client.get(f"/compare?firing={hazy[0]}&firing={hazy[1]}").text


def test_what_is_the_same_is_folded_with_its_value(page):
    assert fact(page, "Thickness") is None
    folded = page[page.index('<details class="same">'):]
    assert "<dt>Thickness</dt><dd>6 mm</dd>" in folded
    assert "<dt>Climb from 100 to 540 °C</dt>" in folded
    assert "<dt>Plan</dt>" not in folded


def test_the_same_steps_in_two_versions_are_said_to_be_the_same(client, studio, hazy):
    third = studio.fill(until_s=45_000.0, ended=True, title="Third")  # the first plan again, as version 3
    page = client.get(f"/compare?firing={hazy[0]}&firing={third}").text
    assert fact(page, "Plan") is None
    assert "<dt>Plan</dt><dd>Full fuse, two layers</dd>" in page
    assert "plan" not in page.split("Not the same")[1].split(".")[0]
    page = client.get(f"/compare?firing={hazy[0]}&firing={hazy[1]}&firing={third}").text.replace("\u00a0", " ")
    assert fact(page, "Plan")[2] == "Full fuse, two layers, version 3 The same steps as firing A."


def test_a_plan_of_fewer_steps_says_so(client, studio, hazy):
    short = studio.fill(until_s=9000.0, ended=True, title="Short", plan_toml="""title = "Warm up"
unit = "C"
[[step]]
rate = 220
to = 670
hold_min = 30
purpose = "squeeze"
""")
    page = client.get(f"/compare?firing={hazy[0]}&firing={short}").text.replace("\u00a0", " ")
    assert fact(page, "Plan")[1] == "Warm up 1 step; firing A has 6. They are the same as there."


def test_of_several_pieces_each_is_named_only_where_they_differ(client, studio, hazy):
    db = studio.open_store()
    other = pieces.add_piece(db, name="Sand dish", glass="90", thickness_mm=9.0, layers="3 mm sand, three times",
                             separator="fibre paper, used twice", now_utc=studio.clock.wall)
    db.execute("INSERT INTO firing_piece (firing_id, piece_id) VALUES (?, ?)", [hazy[1], other])
    outcomes.add_outcome(db, firing_id=hazy[1], piece_id=other, words=["clear"], place="", note="",
                         now_utc=studio.clock.wall)
    db.conn.commit()
    db.close()
    page = client.get(f"/compare?firing={hazy[0]}&firing={hazy[1]}").text.replace("\u00a0", " ")
    assert fact(page, "Layers")[1] == "Dune tiles: 3 mm clear under 3 mm sand Sand dish: 3 mm sand, three times"
    assert fact(page, "Separator")[1] == "fibre paper, used twice"
    assert fact(page, "Came out")[1] == "Dune tiles: haze Seen under a lamp: haze. Sand dish: clear"


def test_inches_are_said_where_the_owner_reads_inches(studio, hazy):
    from dataclasses import replace

    studio.store(lambda db: db.execute("UPDATE firing SET thickness_mm = 6.4 WHERE firing_id = ?", [hazy[1]]))
    config = replace(studio.settings().config, thickness_unit="inch")
    page = unescape(studio.app(config=config).test_client().get(f"/compare?firing={hazy[0]}&firing={hazy[1]}").text)
    assert fact(page.replace("\u00a0", " "), "Thickness") == ["6 mm", '1/4" (6.4 mm)']
