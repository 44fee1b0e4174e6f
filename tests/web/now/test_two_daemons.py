"""Two daemons on two benches and one page: both kilns are seen, and each answer reaches the right one."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from datetime import UTC, datetime

import pytest

from daemon.clock import SystemClock
from daemon.store import alerts
from daemon.store.database import FILE_NAME, open_database

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
PLAN = 'title = "Evening"\nunit = "C"\n[[step]]\nrate = 400\nto = 640\nhold_min = 10\n[[step]]\nrate = 40\nto = 370\n'
WITHIN_S = 100.0
"""On a crowded machine two daemons start in half a minute, and the alert comes after some seconds of theirs."""


def start(folder, name, fault):
    """Start a daemon on a bench whose kiln is called ``name``; 600 s of firing pass in one."""
    folder.mkdir()
    (folder / "lehrling.toml").write_text(
        f'[kiln]\nname = "{name}"\n[probe]\nkind = "bench"\nseed = 5\nstart_s = 600.0\nplan = {json.dumps(PLAN)}\n'
        f"faults = {json.dumps(fault)}\n", encoding="utf-8")
    with (folder / "daemon.log").open("wb") as log:
        return subprocess.Popen([sys.executable, "-m", "daemon.cli", "daemon", "--data", str(folder), "--run",
                                 str(folder), "--speed", "600"], stdout=log, stderr=subprocess.STDOUT)


def said(folder):
    try:
        return json.loads((folder / "present.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}


def until(found):
    """Return what ``found`` gives once it is true."""
    ends = time.monotonic() + WITHIN_S
    while time.monotonic() < ends:
        got = found()
        if got:
            return got
        time.sleep(0.2)
    raise AssertionError("not within the time")


@pytest.fixture
def two(tmp_path):
    """Return the folders of two daemons; the second one's kiln loses its thermocouple on the way."""
    first, second = tmp_path / "first", tmp_path / "second"
    running = []
    try:
        running.append(start(first, "Small kiln", []))
        running.append(start(second, "Casting kiln", ["open@step1:ramp+40min"]))
        yield first, second
    finally:
        for one in running:
            one.terminate()
        for one in running:
            one.wait(60)


@pytest.mark.slow
def test_one_page_shows_both_and_an_answer_reaches_the_kiln_that_it_is_of(two, studio):
    first, second = two

    def standing(folder):
        return [alert for alert in said(folder).get("alerts", ()) if alert["cleared_s"] is None]

    until(lambda: said(first).get("kiln") == "Small kiln")
    number = until(lambda: [alert["no"] for alert in standing(second)])[0]
    page = studio.app(data_dir=first, run_dir=first, kiln="Small kiln", others=(second,),
                      clock=SystemClock()).test_client()
    text = page.get("/").text
    assert "Small kiln" in text
    assert "Casting kiln" in text
    assert f'id="alert-kiln-1-{number}"' in text
    assert "Casting kiln" in page.get("/now.json").json["blocks"]["others"]
    assert page.post("/others/1/acknowledge", data={"alert_no": str(number)}, headers=SAME).status_code == 303

    def heard(folder):
        db = open_database(folder / FILE_NAME, readonly=True)
        try:
            return [alert.no for firing in range(1, 4) for alert in alerts.alerts(db, firing)
                    if alert.acknowledged_s is not None]
        finally:
            db.close()

    assert until(lambda: heard(second)) == [number]
    assert heard(first) == []
    assert datetime.fromisoformat(said(first)["written_utc"]) <= datetime.now(UTC)
