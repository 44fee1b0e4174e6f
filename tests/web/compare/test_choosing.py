"""The list from which firings are ticked: nothing ticked is lost, and what is like the first comes first."""

from __future__ import annotations

import pytest

from daemon.store import outcomes


def test_firings_of_a_glass_and_an_outcome_are_found_to_be_compared(client, studio):
    for title in ("Hazy", "Clear one"):
        number = studio.fill(until_s=30_000.0, ended=True, title=title)
        studio.store(lambda db, number=number, title=title: outcomes.add_outcome(
            db, firing_id=number, piece_id=number, words=["haze" if title == "Hazy" else "clear"], place="", note="",
            now_utc=studio.clock.wall))
    page = client.get("/compare?glass=90&outcome=haze").text
    assert "Hazy" in page
    assert "Clear one" not in page


def test_a_piece_s_firings_are_compared_by_its_number(client, studio):
    studio.fill(until_s=30_000.0, ended=True)
    assert "Which firings?" in client.get("/compare?piece=1").text  # one firing is not enough


@pytest.mark.parametrize(("asked", "told"), [
    ("firing=1&firing=999", "One of those is no firing kept here."), ("firing=abc&firing=1", "One of those is no"),
    ("firing=1", "Choose at least two different ones."), ("firing=1&firing=1", "Choose at least two different ones."),
])
def test_a_choice_that_can_t_be_compared_is_said(client, studio, asked, told):
    studio.fill(until_s=40_000.0, ended=True)
    assert told in client.get(f"/compare?{asked}").text


def test_any_firing_can_be_chosen_and_what_is_ticked_stays_ticked_over_the_pages(client, studio, monkeypatch):
    monkeypatch.setattr("web.compare.choosing.PAGE", 2)
    numbers = [studio.fill(until_s=600.0, ended=True, title=f"Tile {n}") for n in range(5)]
    first = client.get("/compare").text
    assert 'name="page" value="2"' in first
    oldest = client.get(f"/compare?firing={numbers[4]}&page=3").text
    assert f'value="{numbers[0]}"' in oldest
    assert f'value="{numbers[4]}" checked' in oldest
    assert "Choose at least two" not in oldest
    both = client.get(f"/compare?firing={numbers[4]}&firing={numbers[0]}")
    assert "Which firings?" not in both.text


def _offered(page):
    """Return the headings with the titles under them, and which are ticked."""
    found, ticked = {}, []
    for part in page.split('<h2 class="what')[1:]:
        heading = part.split(">", 1)[1].split("<", 1)[0]
        for row in part.split('<li class="entry">')[1:]:
            title = row.split("<span>", 1)[1].split("<", 1)[0]
            found.setdefault(heading, []).append(title)
            ticked += [title] if " checked" in row.split("<span>", 1)[0] else []
    return found, ticked


def test_from_a_firing_those_of_its_plan_and_its_piece_come_first(client, studio, hazy):
    other = studio.fill(until_s=600.0, ended=True, title="Of another plan", plan_toml="""title = "Slump"
unit = "C"
[[step]]
rate = 120
to = 650
hold_min = 15
""")
    found, ticked = _offered(client.get(f"/compare?firing={hazy[0]}&page=1").text)
    assert found == {"Ticked": ["Reed dish"], "By the same plan or with the same piece": ["Dune tiles"],
                     "Others": ["Of another plan"]}
    assert ticked == ["Reed dish"]
    again = studio.fill(until_s=600.0, ended=True, title="Slumped", plan_toml="""title = "Slump"
unit = "C"
[[step]]
rate = 120
to = 650
hold_min = 15
""")
    studio.store(lambda db: db.execute("UPDATE firing_piece SET piece_id = ? WHERE firing_id = ?", [hazy[0], again]))
    found, _ = _offered(client.get(f"/compare?firing={hazy[0]}&page=1").text)
    assert found["By the same plan or with the same piece"] == ["Slumped", "Dune tiles"]
    assert found["Others"] == ["Of another plan"]
    assert other != again


def test_more_than_six_are_said_and_stay_ticked(client, studio):
    numbers = [studio.fill(until_s=600.0, ended=True, title=f"Tile {n}") for n in range(7)]
    page = client.get("/compare?" + "&".join(f"firing={number}" for number in numbers)).text
    assert "These are more than 6." in page
    assert page.count(" checked") == 7


def test_the_list_leads_to_the_comparison_with_what_was_searched(client, studio):
    assert "Compare firings" not in client.get("/firings").text
    for title in ("Reed dish", "Reed bowl"):
        studio.fill(until_s=600.0, ended=True, title=title)
    assert 'href="/compare?page=1&amp;q=Reed"' in client.get("/firings?q=Reed").text
    assert 'href="/compare?page=1"' in client.get("/firings").text


def test_a_piece_leads_to_firings_like_its_last(client, studio):
    studio.fill(until_s=600.0, ended=True)
    assert 'href="/compare?firing=1&amp;page=1"' in client.get("/pieces/1").text
