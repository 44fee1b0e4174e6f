"""A rehearsal within the page: guarded by it, shown in it, its messages sent by the real delivery."""

from __future__ import annotations

import shutil

import pytest

from daemon.firing.events import Rank
from daemon.notify.alert_messages import Channel
from daemon.settings.config import Config
from daemon.store import outbox
from daemon.store.outbox import Letter
from web.kiln import rehearsal

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


class FakeProcess:
    """What starts nothing, and runs until it is terminated."""

    def __init__(self, words, env, **_):
        self.words, self.env, self.returncode = words, env, None

    def poll(self):
        return self.returncode

    def terminate(self):
        self.returncode = -15

    def wait(self, _s):
        return self.returncode


@pytest.fixture
def house(studio, monkeypatch):
    """A studio whose rehearsal folder is filled by hand."""
    studio.open_store().close()
    monkeypatch.setattr(rehearsal.subprocess, "Popen", FakeProcess)
    yield studio
    rehearsal.end(studio.folder)


def _make_ready(studio):
    """Put a studio of another kiln where the simulated one would be."""
    folder = studio.folder / rehearsal.FOLDER
    other = type(studio)(folder, studio.empty)
    number = other.fill(until_s=24_000.0, title="Rehearsal: nothing is in the kiln")
    other.say(number, 24_000.0)
    (folder / "run").mkdir()
    shutil.move(folder / "present.json", folder / "run" / "present.json")
    return other


def test_a_rehearsal_is_started_once_and_ended(house, monkeypatch):
    monkeypatch.setenv("NOTIFY_SOCKET", "/nowhere")
    client = house.app().test_client()
    assert "Start the rehearsal" in client.get("/rehearse").text
    assert client.get("/rehearsal/").status_code == 302  # nothing to see yet
    client.post("/rehearse", headers=SAME)
    first = rehearsal._RUNNING[house.folder].process
    client.post("/rehearse", headers=SAME)
    assert rehearsal._RUNNING[house.folder].process is first
    assert first.words[-4:-2] == ["--kiln", "clamshell"]
    assert "NOTIFY_SOCKET" not in first.env  # its daemon must not speak for the real page
    assert "made ready" in client.get("/rehearse").text
    client.post("/rehearse", headers=SAME, data={"end": "yes"})
    assert first.returncode == -15
    assert "Start the rehearsal" in client.get("/rehearse").text


def test_its_page_is_shown_within_this_one_and_says_what_it_is(house):
    app = house.app()
    client = app.test_client()
    client.post("/rehearse", headers=SAME)
    _make_ready(house)
    page = client.get("/rehearsal/").text
    assert "A rehearsal: this kiln is simulated." in page
    assert "Rehearsal: nothing is in the kiln" in page
    assert 'href="/rehearsal/firings"' in page
    assert client.get("/rehearsal/now.json").json["title"]
    assert "nothing is in the kiln" not in client.get("/").text
    # What is pressed there is asked of the simulated kiln's watch alone.
    client.post("/rehearsal/firings/1/acknowledge", headers=SAME, data={"alert_no": ""})
    assert house.asked() == []


def test_nobody_sees_or_presses_it_without_the_passcode(house, cheap_hash):
    from web.security import passcode

    passcode.keep(house.folder / "passcode", "warm sand and slow rivers")
    rehearsal.begin(house.settings())
    _make_ready(house)
    client = house.app(open_house=False).test_client()
    assert client.get("/rehearsal/").headers["Location"].startswith("/enter")
    assert client.post("/rehearse", headers=SAME).headers["Location"].startswith("/enter")
    assert client.post("/rehearsal/firings/1/end", headers={"Origin": "http://elsewhere"}).status_code == 403


def test_its_messages_go_through_the_real_outbox_once_and_marked(house):
    config = Config(channels=(Channel("phone", house.folder / "phone.url", (Rank.WAKE,)),))
    mine = house.settings(config=config)
    rehearsal.begin(mine)
    other = _make_ready(house)
    db = other.open_store()
    outbox.post(db, [Letter("phone", "GET UP: the power is off", "Look.", "test", "wake")], house.clock.wall)
    db.close()
    sent: set[int] = set()
    rehearsal._pass_on(mine, sent)
    rehearsal._pass_on(mine, sent)
    [message] = house.store(lambda store: outbox.pending(store, "phone"))
    assert message.title == "REHEARSAL GET UP: the power is off"
    assert message.body.startswith("A rehearsal: the kiln is simulated, nothing is wrong.")
    assert message.rank == "wake"


def test_a_rehearsal_that_dies_shows_its_last_words(house):
    client = house.app().test_client()
    client.post("/rehearse", headers=SAME)
    rehearsal._RUNNING[house.folder].process.returncode = 2
    (house.folder / "rehearsal.log").write_text("lehrling: --data: no room left.\n", encoding="utf-8")
    assert "no room left" in client.get("/rehearse").text
