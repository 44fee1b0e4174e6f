"""Several kilns on one page: each with its own sentence, its own alerts, and its own watch to be answered."""

from __future__ import annotations

import json
import socket
import threading

import pytest

from daemon.service.control_socket import FILE_NAME as SOCKET_NAME

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def casting(tmp_path):
    """Return the state folder of a second kiln."""
    folder = tmp_path / "casting-run"
    folder.mkdir()
    return folder


@pytest.fixture
def beside(studio, casting):
    """Return a client of a page that shows the second kiln as well."""
    return studio.app(others=(casting,)).test_client()


def say(studio, folder, *, alert=False, age_s=1.0, **others):
    """Have the second kiln's watch say what the first one's says, under its own name."""
    studio.say(7, alert=alert, age_s=age_s)
    said = json.loads((studio.folder / "present.json").read_text(encoding="utf-8"))
    said |= {"kiln": "casting kiln", "firing_title": "River block", "temp_c": 642.0, **others}
    (folder / "present.json").write_text(json.dumps(said), encoding="utf-8")
    studio.say(studio.fill())


def test_each_kiln_has_its_own_sentence_and_load(beside, studio, casting):
    say(studio, casting, sentence="Climbing to the squeeze. Nothing to do.")
    page = beside.get("/").text
    assert "casting kiln: River block" in page
    assert "Climbing to the squeeze" in page
    assert "Cooling through the anneal" in page  # the page's own kiln
    assert "642 °C" in page


def test_an_alert_of_the_other_kiln_stands_on_the_page_and_sounds(beside, studio, casting):
    say(studio, casting, alert=True)
    page = beside.get("/").text
    assert 'action="/others/1/acknowledge"' in page
    assert 'id="alert-kiln-1-1"' in page
    told = beside.get("/now.json").json
    assert told["rings"] == "wake"
    assert "casting kiln: Cooling too fast" in told["blocks"]["elsewhere"]  # above this kiln's own quiet sentence
    assert page.index('href="#kiln-1"') < page.index('class="temp"')
    assert "Close the vents" in told["blocks"]["others"]
    assert "Close the vents" not in told["blocks"]["alerts"]


def test_its_times_are_those_of_its_own_firing_however_fast_its_clock_goes(beside, studio, casting):
    # A bench sixty times as fast: the alert of second 30,700 came 8 h 31 min 40 s of firing after 17:00 UTC.
    say(studio, casting, alert=True, speed=60.0, started_utc="2026-03-03T17:00:00+00:00")
    assert '<p class="when">02:31 ' in beside.get("/now.json").json["blocks"]["others"]


def test_a_watch_that_fell_silent_is_said_to_be_silent(beside, studio, casting):
    say(studio, casting, age_s=60.0)
    page = beside.get("/").text
    assert "No word from the watch since" in page
    (casting / "present.json").write_text("{", encoding="utf-8")
    assert "casting-run" in beside.get("/").text  # its folder is all that is known of it


@pytest.mark.parametrize(("outcome", "code"), [("done", 303), ("no firing is open", 409)])
@pytest.mark.parametrize(("way", "more"), [("acknowledge", {}), ("quiet", {"for_s": 1800.0})])
def test_an_answer_goes_to_the_watch_of_that_kiln(beside, casting, outcome, code, way, more):
    heard = []
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(casting / SOCKET_NAME))
        server.listen(1)
        server.settimeout(10)

        def serve():
            line, _ = server.accept()
            with line:
                heard.append(json.loads(line.recv(10_000)))
                line.sendall(json.dumps({"outcome": outcome}).encode() + b"\n")

        thread = threading.Thread(target=serve)
        thread.start()
        reply = beside.post(f"/others/1/{way}", data={"alert_no": "1"}, headers=SAME)
        thread.join(10)
    assert reply.status_code == code
    assert heard == [{"kind": way, "payload": {"firing_id": None, "alert_no": 1, **more}}]


def test_a_watch_that_does_not_answer_is_said_so(beside):
    reply = beside.post("/others/1/acknowledge", data={"alert_no": "1"}, headers=SAME)
    assert reply.status_code == 409
    assert "does not answer" in reply.text
    assert beside.post("/others/2/acknowledge", headers=SAME).status_code == 404
    assert beside.post("/others/1/acknowledge", data={"alert_no": "x"}, headers=SAME).status_code == 400


def test_a_page_of_one_kiln_has_no_word_of_others(client, studio):
    studio.say(studio.fill())
    assert client.get("/now.json").json["blocks"]["others"].strip() == ""


def test_who_may_only_read_cannot_answer_for_the_other_kiln(studio, casting):
    say(studio, casting, alert=True)
    reader = studio.app(others=(casting,), open_house=False, open_reading=True).test_client()
    assert "/others/1/acknowledge" not in reader.get("/").text
    reply = reader.post("/others/1/acknowledge", data={"alert_no": "1"}, headers=SAME)
    assert reply.status_code == 302  # to the passcode
    assert "others" not in reply.headers["Location"]
