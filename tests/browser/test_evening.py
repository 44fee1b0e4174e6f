"""One evening, whole: the real daemon on the bench, the real page, a plan, a piece, a firing, an alert, a record."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from daemon.store import alerts, firing_list, readings
from daemon.store.database import FILE_NAME, open_database

SPEED = 400.0
START_S = 8_000.0
"""The bench's controller waits this long [s of firing], 20 s by the wall: the maker has to type."""
PHONE = {"width": 390, "height": 844}

STEPS = "400 / 640 / 0:10 top\nfree / 516 / 0:20 anneal\n40 / 370\nfree / 40"
PLAN = """title = "Evening"
unit = "C"
[[step]]
rate = 400
to = 640
hold_min = 10
[[step]]
rate = "free"
to = 516
hold_min = 20
purpose = "anneal"
[[step]]
rate = 40
to = 370
[[step]]
rate = "free"
to = 40
"""
POINTS = """(() => { const t = (document.querySelector('[data-plot]').data ?? []).find((t) => t.name === 'measured');
    return t ? t.x.map((x, i) => [x, t.y[i]]).filter(([, y]) => y !== null) : []; })()"""


@dataclass
class House:
    address: str
    data: Path

    def store(self) -> Any:
        return open_database(self.data / FILE_NAME, readonly=True)

    def present(self) -> dict[str, Any]:
        try:
            return json.loads((self.data / "present.json").read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}


def _free_port() -> int:
    import socket

    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    port = _free_port()
    (tmp_path / "lehrling.toml").write_text(
        '[kiln]\nname = "Bench kiln"\n[probe]\nkind = "bench"\nseed = 5\n'
        f"start_s = {START_S}\nplan = {json.dumps(PLAN)}\n"
        'faults = ["cooling=2.5@step3:ramp"]\n', encoding="utf-8")
    places = ["--data", str(tmp_path), "--run", str(tmp_path)]
    started = []
    try:
        for name, arguments in (
            ("daemon", ["daemon", *places, "--speed", f"{SPEED:g}"]),
            ("web", ["web", *places, "--port", str(port), "--open"]),
        ):
            with (tmp_path / f"{name}.log").open("wb") as log:
                started.append(subprocess.Popen(
                    [sys.executable, "-m", "daemon.cli", *arguments], stdout=log, stderr=subprocess.STDOUT))
        yield House(f"http://127.0.0.1:{port}", tmp_path)
    finally:
        for child in reversed(started):
            child.terminate()
        for child in reversed(started):
            child.wait(60)


def _until(page: Any, script: str, seconds: float) -> Any:
    from playwright.sync_api import Error

    for _ in range(int(seconds * 20)):
        with suppress(Error):  # the page may be on its way to another one
            found = page.evaluate(script)
            if found:
                return found
        page.wait_for_timeout(50)
    raise AssertionError(f"not within {seconds:g} s: {script}\n{page.evaluate('document.body.innerText')}")


def _listens(address: str) -> bool:
    import socket
    from urllib.parse import urlsplit

    try:
        socket.create_connection(("127.0.0.1", urlsplit(address).port or 0), 0.5).close()
    except OSError:
        return False
    return True


def _open(open_page: Any, house: House) -> Any:
    for _ in range(600):
        if house.present() and _listens(house.address):
            break
        threading.Event().wait(0.2)
    assert house.present(), (house.data / "daemon.log").read_text(encoding="utf-8")
    return open_page(house.address + "/", PHONE, "dark", settle=False)


def test_an_evening_from_first_steps_to_the_record(house, open_page, keep_picture):
    page = _open(open_page, house)
    assert "First steps" in page.inner_text("main")

    page.click("text=Write a plan")
    page.fill("#title", "Evening tack")
    page.fill("#steps", STEPS)
    page.click("text=Save the plan")
    assert page.inner_text("h1") == "Evening tack"

    page.click("nav >> text=Pieces")
    page.click("text=Add a piece")
    page.fill("#name", "Reed dish")
    page.fill("#thickness", "6")
    page.click("text=Save the piece")

    page.click("nav >> text=Now")
    page.click("text=Start a firing")
    page.check("text=Reed dish")
    page.select_option("#plan", label="Evening tack")
    page.click("text=Start the watch")
    _until(page, "document.body.dataset.firing > 0", 15)

    # The trace moves by itself, and what is plotted is what is stored.
    _until(page, f"{POINTS}.length > 0", 30)
    first = page.evaluate(POINTS)
    moved = _until(page, f"""(() => {{
        const points = {POINTS};
        return points.length && points.at(-1)[0] > {first[-1][0]} + 2000 ? points : 0;
    }})()""", 40)
    db = house.store()
    [listed] = firing_list.matching(db, 5)
    stored = {s.t_s: s.temp_c for s in readings.samples(db, listed.firing.firing_id)}
    db.close()
    assert listed.firing.title == "Reed dish"
    near = [min(abs(stored[t] - y) for t in (5 * round(x / 5) + d for d in range(-15, 20, 5)) if t in stored)
            for x, y in moved]
    assert max(near) < 6.0  # a probe's noise, in columns of a few readings

    # The kiln cools two and a half times as fast as asked; the page says so by itself.
    _until(page, "document.querySelector('.woken') !== null", 90)
    assert "Cooling too fast: planned 40 °C/h." in page.inner_text("h1").replace("\u00a0", " ")
    assert "Close it from outside, never reach in" in page.inner_text(".woken")
    keep_picture(page, "evening-alert-phone-dark", whole=False)
    page.click("#ack-thumb")
    _until(page, "/Answered at/.test(document.querySelector('#alerts').innerText)", 15)
    assert page.query_selector("#ack-thumb") is None

    page.click("text=End this firing")
    page.click("text=End the firing and keep its record")
    _until(page, "document.body.dataset.firing === ''", 15)
    assert "Start a firing" in page.inner_text("main")

    page.click("nav >> text=Firings")
    assert "Get up" in page.inner_text(".list")
    page.click(".list >> text=Reed dish")
    _until(page, "document.querySelector('.plotted .plot .main-svg') !== null", 20)
    record = page.inner_text("main")
    assert "cooling too fast" in record
    assert "step 2, hold anneal" in record
    page.fill("#note", "Vent left open. <b>My own</b> doing.")
    page.click("text=Save the note")
    assert "<b>My own</b> doing." in page.inner_text("#log")
    _outcome_and_photograph(page, house)
    keep_picture(page, "evening-record-phone-dark")
    _compare(page)
    keep_picture(page, "evening-compare-phone-dark")
    _card(page)

    db = house.store()
    [kept] = [a for a in alerts.alerts(db, 1) if a.kind == "cooling-too-fast"]
    db.close()
    assert kept.acknowledged_s is not None
    assert page.overheard.hosts == {"127.0.0.1"}
    assert page.overheard.ours() == []


def _outcome_and_photograph(page: Any, house: House) -> None:
    from PIL import Image

    page.check(".came >> text=haze")  # the firing's page asks by itself, once
    page.fill("#came-note", "Along the rim.")
    page.click(".came >> text=Save")
    assert "Came out: haze" in page.inner_text("#pieces")
    Image.new("RGB", (900, 600), (90, 130, 120)).save(house.data / "camera.jpg", "JPEG")
    page.click("text=Add a photograph")
    page.set_input_files("#photograph", str(house.data / "camera.jpg"))
    page.fill("#caption", "on the light box")
    page.click("text=Save the photograph")
    _until(page, "document.querySelector('.photographs img')?.naturalWidth > 0", 15)
    assert "on the light box" in page.inner_text("#pieces")


def _compare(page: Any) -> None:
    """Fire the same piece again, for a minute, and lay both together."""
    page.click("#pieces >> text=Reed dish")
    assert "haze" in page.inner_text("main")
    page.click("text=Fire it")
    page.select_option("#plan", label="Evening tack")
    page.click("text=Start the watch")
    _until(page, "document.body.dataset.firing > 0", 15)
    page.click("button >> text=Vented")
    _until(page, "/You vented/.test(document.querySelector('main').innerText)", 15)
    page.click("text=End this firing")
    page.click("text=End the firing and keep its record")
    _until(page, "document.body.dataset.firing === ''", 15)
    page.click("nav >> text=Pieces")
    page.click(".list >> text=Reed dish")
    page.click("text=Compare its firings")
    words = page.inner_text("main")
    assert "What was different" in words
    assert "lower at the top" in words.replace("\u00a0", " ")


def _card(page: Any) -> None:
    page.click(".key >> text=Reed dish >> nth=0")
    page.click("text=The card, to print")
    assert "Mark of the record" in page.inner_text("main")
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


def test_a_daemon_that_dies_is_told_within_fifteen_seconds(studio, serve, open_page):
    from datetime import UTC, datetime, timedelta

    class GoingClock(type(studio.clock)):
        def utc(self) -> datetime:
            return datetime.now(UTC)

    # A clock that goes on by itself, and a state file nobody renews.
    begun = datetime.now(UTC)
    studio.clock = GoingClock(wall=begun)
    number = studio.fill(until_s=24_000.0)
    studio.say(number, 24_000.0, age_s=0.0)
    page = open_page(serve(studio) + "/")
    assert "No word" not in page.inner_text("h1")
    _until(page, "document.querySelector('h1').innerText.startsWith('No word from the watch since')", 20)
    assert datetime.now(UTC) - begun < timedelta(seconds=19)  # 15 s and one look every 3 s
    assert page.evaluate("document.body.classList.contains('stale')")


def test_a_page_that_cannot_reach_the_server_says_so_itself(studio, serve, open_page):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    page = open_page(serve(studio) + "/")
    page.route("**/now.json*", lambda asked: asked.abort())
    _until(page, "document.querySelector('h1').innerText.startsWith('This page can’t reach Lehrling since')", 20)
    page.unroute("**/now.json*")
    _until(page, "document.querySelector('h1').innerText.startsWith('Cooling')", 20)
