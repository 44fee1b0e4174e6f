"""Start ends nothing that runs: it carries what it saw, and a token that is used once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest

from daemon.store import firings, requests

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


def _open_firing(studio, title="Kiln climbs"):
    """Return the id of a firing that the daemon opened meanwhile."""
    from daemon.store import kilns

    def open_it(db):
        kiln = kilns.kiln_id(db, "small kiln")
        return firings.open_firing(
            db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title=title, opened_by="maker",
            started_utc=studio.clock.wall, boot_id="boot", clock_s=0.0)
    return studio.store(open_it)


def test_six_posts_of_one_form_at_once_ask_once(studio, form_of_start):
    studio.open_store().close()
    app = studio.app()
    form = form_of_start(app.test_client(), title="Bowl")

    def press(_):
        return app.test_client().post("/start", data=form, headers=SAME)

    with ThreadPoolExecutor(6) as hands:
        answers = list(hands.map(press, range(6)))
    assert {answer.status_code for answer in answers} == {303}
    assert len({answer.headers["Location"] for answer in answers}) == 1
    assert [kind for kind, _ in studio.asked()] == ["start"]


def test_a_tab_from_before_a_firing_ran_ends_nothing_and_shows_the_present(client, studio, form_of_start):
    studio.fill(ended=True)
    form = form_of_start(client, title="Bowl")
    _open_firing(studio, "Deep dish")
    answer = client.post("/start", data=form, headers=SAME)
    assert answer.status_code == 409
    assert "“Deep dish” has run since" in answer.text
    assert "Nothing was ended and nothing was started." in answer.text
    assert "<form class=\"what form\"" not in answer.text
    assert studio.asked() == []


def test_pressing_twice_leads_to_what_the_first_press_started(client, studio, form_of_start):
    studio.fill(ended=True)
    form = form_of_start(client, title="Bowl")
    first = client.post("/start", data=form, headers=SAME)
    studio.store(lambda db: requests.settle(db, 1, "done", studio.clock.wall))
    _open_firing(studio, "Bowl")
    second = client.post("/start", data=form, headers=SAME)
    assert (second.status_code, second.headers["Location"]) == (303, first.headers["Location"])


@pytest.mark.parametrize("outcome", ["done", "refused: storage", None])
def test_a_form_sent_again_the_next_day_starts_nothing_and_offers_a_fresh_one(client, studio, form_of_start, outcome):
    studio.fill(ended=True)
    form = form_of_start(client, title="Bowl")
    client.post("/start", data=form, headers=SAME)
    if outcome is not None:
        studio.store(lambda db: requests.settle(db, 1, outcome, studio.clock.wall))
    studio.clock.wall += timedelta(days=1)
    answer = client.post("/start", data=form, headers=SAME)
    assert answer.status_code == 409
    assert "This form was sent already" in answer.text
    assert form["token"] not in answer.text
    assert len(studio.store(lambda db: list(db.query("SELECT * FROM request")))) == 1


@pytest.mark.parametrize("typed", [{}, {"token": ""}, {"saw": "1", "token": "x"}, {"token": "x" * 500}])
def test_a_form_without_its_marks_starts_nothing(client, studio, typed):
    studio.fill(ended=True)
    answer = client.post("/start", data={"title": "Bowl", **typed}, headers=SAME)
    assert answer.status_code == 409
    assert "Nothing is started" in answer.text
    assert 'value="Bowl"' in answer.text
    assert studio.asked() == []
