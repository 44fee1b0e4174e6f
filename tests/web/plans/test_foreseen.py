"""What the kiln will do with a plan, on the page."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from daemon.store.database import create_database
from simulations.studio.seed import KILN_NAME, PAST, seed_studio
from web.app import create_app
from web.plans import foresee_process
from web.settings import Settings

NOW = datetime(2026, 5, 20, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def seeded(tmp_path_factory):
    folder = tmp_path_factory.mktemp("studio")
    db = create_database(folder / "lehrling.db")
    seed_studio(db, NOW, [PAST[0], PAST[3]])
    db.close()
    return create_app(Settings(data_dir=folder, run_dir=folder, kiln=KILN_NAME, open_house=True)).test_client()


def test_it_says_when_the_parts_end_and_draws_the_kiln_over_the_plan(seeded):
    page = seeded.get("/plans/1/foreseen").text
    assert "Learned from 2 firings of this kiln. These are few: the times are rough." in page
    assert "The anneal hold begins at about 5:4" in page
    assert " after the start (" in page
    assert "<th scope=\"row\">step 4, hold 1 h 00 min at 516 °C</th>" in page
    assert page.count("<svg") == 2
    assert "no safety device" in page


def test_by_the_clock(seeded):
    page = seeded.get("/plans/1/foreseen?start=9:30").text
    assert "The anneal hold begins at about 15:1" in page
    page = seeded.get("/plans/1/foreseen?start=later").text
    assert "“later” is no time of day. Write it as 21:30." in page


def test_the_plan_leads_to_it(seeded):
    assert "/plans/1/foreseen" in seeded.get("/plans/1").text
    assert seeded.get("/plans/99/foreseen").status_code == 404


def test_a_kiln_that_was_not_fired_by_a_plan_yet(tmp_path):
    db = create_database(tmp_path / "lehrling.db")
    seed_studio(db, NOW - timedelta(days=1), [PAST[0]])
    db.execute("UPDATE firing SET plan_id = NULL")
    db.close()
    client = create_app(Settings(data_dir=tmp_path, run_dir=tmp_path, kiln=KILN_NAME, open_house=True)).test_client()
    assert "has not fired by a plan yet" in client.get("/plans/1/foreseen").text


def test_without_a_time_zone_in_the_settings_it_is_the_computers_own(seeded):
    settings = seeded.application.extensions["lehrling"]
    with Path("/etc/localtime").open("rb") as file:
        own = ZoneInfo.from_file(file)
    app = create_app(replace(settings, zone=own))
    assert "Learned from 2 firings" in app.test_client().get("/plans/1/foreseen?start=9:30").text


def test_while_another_one_is_made_it_asks_to_wait(seeded):
    with foresee_process._PROCESS.busy:
        answer = seeded.get("/plans/1/foreseen")
    assert answer.status_code == 503
    assert "Wait a minute" in answer.text
