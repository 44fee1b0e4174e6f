from __future__ import annotations

import pytest

from daemon.store import bin, notes, outcomes


@pytest.fixture
def written(studio):
    """A firing with words in each place, and the firing's number."""
    number = studio.fill(until_s=30_000.0, ended=True, title="Crème river bowl", name="River dish",
                         note="A skim of haze")
    studio.store(lambda db: notes.add_note(db, number, "Vent open by a finger.\nA little <haze> on the rim.",
                                           studio.clock.wall))
    studio.store(lambda db: outcomes.add_outcome(db, firing_id=number, piece_id=1, words=["haze"], place="",
                                                 note="", now_utc=studio.clock.wall))
    return number


def test_results_stand_in_groups_with_the_words_marked(client, written):
    page = client.get("/find?q=HAZ").text
    assert page.index(">Pieces</h2>") < page.index(">Notes and outcomes</h2>")
    assert ">Firings</h2>" not in page
    assert "A skim of <mark>haze</mark>" in page
    assert "Vent open by a finger. · A little &lt;<mark>haze</mark>&gt; on the rim." in page
    assert page.count("<mark>haze</mark>") == 3
    assert page.count(f'href="/firings/{written}"') == 2
    assert 'href="/pieces/1"' in page


def test_a_title_is_marked_itself_and_accents_are_no_matter(client, written):
    page = client.get("/find?q=creme").text
    assert f'<a class="title" href="/firings/{written}"><mark>Crème</mark> river bowl</a>' in page
    assert '<a class="title" href="/plans/1"><mark>Full</mark>' in client.get("/find?q=full").text
    assert '<a class="title" href="/pieces/1"><mark>River</mark> dish</a>' in client.get("/find?q=river").text


@pytest.mark.parametrize("typed", ["%22", "*", "AND", "NEAR(", "%00", "x" * 119, "^q", "words:x", "-", "%27"])
def test_what_is_not_there_is_said_calmly(client, written, typed):
    answer = client.get(f"/find?q={typed}")
    assert answer.status_code == 200
    assert "Nothing has all of these words." in answer.text or "Looks through" in answer.text


def test_nothing_asked_says_what_is_looked_through_and_too_much_is_told(client, written):
    assert "The beginning of a word is enough." in client.get("/find").text
    page = client.get(f"/find?q={'word ' * 40}").text
    assert "Use at most 120." in page


def test_many_are_cut_and_lead_to_the_whole_list(client, studio, monkeypatch):
    monkeypatch.setattr("web.finding.everything.SHOWN", 2)
    for number in range(3):
        studio.fill(until_s=600.0, ended=True, title=f"Tile {number}", name=f"Tile {number}")
    page = client.get("/find?q=tile").text
    assert page.count('class="title" href="/firings/') == 2
    assert "Tile 0" not in page.replace("<mark>", "").replace("</mark>", "")
    assert 'href="/firings?q=tile"' in page
    assert 'href="/pieces?q=tile"' in page


def test_what_was_deleted_is_not_found(client, studio, written):
    studio.store(lambda db: bin.put_into_bin(db, written, studio.clock.wall))
    page = client.get("/find?q=haze").text
    assert ">Notes and outcomes</h2>" not in page
    assert ">Pieces</h2>" in page  # the piece is still on the shelf


def test_the_lists_lead_here_with_what_was_typed(client, written):
    for path in ("/firings?q=haze+rim", "/pieces?q=haze"):
        query = path.split("q=")[1]
        assert f'href="/find?q={query}"' in client.get(path).text
    assert "Crème river bowl" in client.get("/firings?q=haze+rim").text
    assert "Crème river bowl" not in client.get("/firings?q=haze+foot").text
