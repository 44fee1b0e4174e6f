"""The sounder on the page of ways to the owner: its pins, a trial, and whether it was heard."""

from __future__ import annotations

import pytest

from daemon.errors import BadInput
from daemon.service.sounder_word import Word
from daemon.settings.config import read_config
from web.kiln import sounder as module

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def file(studio):
    studio.open_store().close()
    found = studio.folder / "lehrling.toml"
    found.write_text('[kiln]\nname = "Loft"  # upstairs\n', encoding="utf-8")
    return found


@pytest.fixture
def page(studio, file):
    """Return a function that opens the page as the file says now."""
    return lambda: studio.app(config=read_config(file), kiln="Loft").test_client()


def post(client, where="", **typed):
    return client.post(f"/reach/sounder{where}", headers=SAME, data=typed)


@pytest.mark.parametrize("typed", ["D17", "d17", "17", "GPIO 17"])
def test_pins_are_set_and_taken_out_again(page, file, typed):
    assert "There is no sounder at the kiln." in page().get("/reach").text
    assert post(page(), pin=typed, lamp_pin="", active_low="yes").status_code == 303
    assert read_config(file).sounder == {"kind": "gpio", "pin": "D17", "active_low": True}
    assert "Pin D17 switches it." in page().get("/reach").text
    assert post(page(), pin="", lamp_pin="").status_code == 303
    assert read_config(file).sounder is None
    assert "# upstairs" in file.read_text(encoding="utf-8")


def test_taking_out_a_sounder_that_was_never_there_says_so_and_writes_nothing(page, file):
    before = file.read_text(encoding="utf-8")
    answer = post(page(), pin="", lamp_pin="")
    said = page().get(answer.headers["Location"]).text
    assert "There was none." in said
    assert "Taken out." not in said
    assert file.read_text(encoding="utf-8") == before


@pytest.mark.parametrize(("typed", "field", "told"), [
    ({"pin": "999"}, "pin", "is no pin of a Raspberry Pi"),
    ({"pin": "D17", "lamp_pin": "17"}, "lamp_pin", "D17 switches the sounder already"),
    ({"lamp_pin": "D8"}, "lamp_pin", "one of the converter&#39;s own pins"),
])
def test_a_pin_that_cannot_be_is_told_beside_its_field_and_not_kept(page, file, typed, field, told):
    answer = post(page(), **typed)
    assert answer.status_code == 400
    beside = answer.text.split(f'id="wrong-{field}">')[1].split("</p>")[0]
    assert told in beside
    assert 'value="' + typed[field] in answer.text
    assert read_config(file).sounder is None


@pytest.mark.parametrize(("found", "told"), [
    ("opened", "Saved."), ("not opened", "the watch could not open the sounder, so it will not wake you."),
    ("not tried", "Whether the watch can open the sounder is not known yet."),
])
def test_the_answer_says_whether_the_watch_could_open_it(page, monkeypatch, found, told):
    monkeypatch.setattr(module.settings_form, "ask", lambda changes: True)
    monkeypatch.setattr(module.sounder_word, "after_change", lambda run_dir, before: Word(found))
    client = page()
    assert told in client.get(post(client, pin="D17", lamp_pin="").location).text


def test_the_answer_says_that_it_was_not_tried_where_no_watch_runs(page):
    client = page()
    assert "so the sounder was not tried" in client.get(post(client, pin="D17", lamp_pin="").location).text


def test_a_trial_asks_whether_it_was_heard_and_keeps_the_answer(page, file, monkeypatch):
    file.write_text('[sounder]\npin = "D17"\n', encoding="utf-8")
    client, asked = page(), []
    monkeypatch.setattr(module, "try_sounder", asked.append)
    shown = client.get(post(client, "/trial").location).text
    assert len(asked) == 1
    assert "Do you hear it where you sleep" in shown
    assert "Nobody has said yet that it was heard." in shown
    no = client.get(post(client, "/answer", reached="no").location).text
    assert "It was not heard on" in no
    assert "Until you hear it, do not rely on it." in no
    assert "It was heard on" in client.get(post(client, "/answer", reached="yes").location).text
    assert post(client, "/answer", reached="perhaps").status_code == 400


def test_a_trial_that_cannot_be_says_why(page, file, monkeypatch):
    def refuse(run_dir):
        raise BadInput("sounder", "D17 can't be switched (busy).")
    file.write_text('[sounder]\npin = "D17"\n', encoding="utf-8")
    monkeypatch.setattr(module, "try_sounder", refuse)
    answer = post(page(), "/trial")
    assert answer.status_code == 409
    assert "D17 can’t be switched (busy)." in answer.text or "D17 can&#39;t be switched (busy)." in answer.text


def test_before_a_start_it_counts_only_once_it_was_heard(page, file, studio):
    def said():
        text = page().get("/start").text
        return " ".join(text.split("Sounder")[1].split("</li>")[0].split())

    assert "there is none at the kiln" in said()
    file.write_text('[sounder]\npin = "D17"\n', encoding="utf-8")
    assert "at the kiln, not tried yet" in said()
    post(page(), "/answer", reached="no")
    assert "at the kiln, not heard on" in said()
    post(page(), "/answer", reached="yes")
    assert "it needs no network" in said()
    studio.say(None, trouble=[{"ailing": "sounder", "text": "D17 is busy."}])
    assert "it does not work just now" in said()


def test_what_the_daemon_says_of_the_sounder_stands_beside_it(page, file, studio):
    file.write_text('[sounder]\npin = "D17"\n', encoding="utf-8")
    studio.say(None, trouble=[{"ailing": "sounder", "text": "There is no sounder at the kiln. D17 is busy."}])
    assert "There is no sounder at the kiln. D17 is busy." in page().get("/reach").text
