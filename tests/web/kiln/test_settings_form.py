"""Setting up on the page: what is set, what has changed, what can't be used, and who is woken."""

from __future__ import annotations

from datetime import time

import pytest

from daemon.notify import reached
from daemon.settings.config import read_config
from daemon.store import outbox

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
FILE = """[kiln]
name = "Loft"  # upstairs

[[channel]]
name = "phone"
url_file = "phone.url"
"""


@pytest.fixture
def client(studio):
    studio.open_store().close()
    file = studio.folder / "lehrling.toml"
    file.write_text(FILE, encoding="utf-8")
    (studio.folder / "phone.url").write_text("json://127.0.0.1:9/\n", encoding="utf-8")
    return studio.app(config=read_config(file), kiln="Loft").test_client()


def _typed(**changed):
    return {"name": "Loft", "controller_unit": "C", "unit": "C", "thickness_unit": "mm", "time_zone": "",
            "thermocouple_type": "K", "tolerance_class": "", "mains_hz": "50", "power_kw": "",
            "price_per_kwh": "", "currency": "", "whom_to_call": "",
            "quiet_from": "", "quiet_to": "", "awake_at": ""} | changed


def test_only_what_has_changed_is_written_and_the_file_stays_readable(client, studio):
    answer = client.post("/setup", headers=SAME, data=_typed(
        controller_unit="F", thickness_unit="inch", time_zone="Europe/Vienna", mains_hz="60"))
    assert answer.status_code == 303
    assert "Saved. The watch does not run just now" in client.get(answer.location).text
    assert (studio.folder / "lehrling.toml").read_text(encoding="utf-8") == FILE.replace(
        "upstairs\n", "upstairs\ncontroller_unit = \"F\"\n") + """
[owner]
thickness_unit = "inch"
time_zone = "Europe/Vienna"

[probe]
mains_hz = 60
"""


@pytest.mark.parametrize(("typed", "field", "told"), [
    ({"time_zone": "Mars"}, "time_zone", "“Mars” is no time zone. Write its name, as “Europe/Vienna”."),
    ({"price_per_kwh": "abc"}, "price_per_kwh", "“abc” is not a number. Write it in digits, such as 0.30."),
    ({"currency": "long crowns"}, "currency", "is longer than 8 characters."),
])
def test_what_cannot_be_used_is_told_beside_its_field(client, typed, field, told):
    answer = client.post("/setup", headers=SAME, data=_typed(**typed))
    assert answer.status_code in (400, 409)
    beside = answer.text.split(f'id="wrong-{field}">')[1].split("</p>")[0]
    assert told in beside
    assert 'role="alert"' not in answer.text.split("<form")[0]  # once is enough


def test_quiet_hours_and_the_daily_word_are_set_here_and_taken_away_again(client, studio):
    file = studio.folder / "lehrling.toml"
    client.post("/setup", headers=SAME, data=_typed(quiet_from="22:00", quiet_to="07:00", awake_at="08:30"))
    kept = read_config(file)
    assert (kept.quiet_hours, kept.awake_at) == ((time(22), time(7)), time(8, 30))
    again = studio.app(config=kept, kiln="Loft").test_client()
    assert 'name="quiet_from" type="time" value="22:00"' in again.get("/setup").text
    assert "but not from 22:00 to 07:00" in again.get("/reach").text
    again.post("/setup", headers=SAME, data=_typed())
    assert read_config(file).quiet_hours is None


def test_nothing_changed_is_nothing_written(client, studio):
    answer = client.post("/setup", headers=SAME, data=_typed())
    assert "Nothing was changed." in client.get(answer.location).text
    assert (studio.folder / "lehrling.toml").read_text(encoding="utf-8") == FILE


@pytest.mark.parametrize(("changed", "told"), [
    ({"name": ""}, "Give the kiln a name"), ({"time_zone": "Mars"}, "is no time zone"),
    ({"thermocouple_type": "X"}, "Choose one of the list"), ({"unit": "K"}, "Choose one of the list"),
    ({"quiet_from": "22:00"}, "two different times"), ({"awake_at": "late"}, "is no time of day"),
    ({"quiet_from": "22:00", "quiet_to": "22:00"}, "two different times"),
])
def test_what_cannot_be_used_is_told_and_kept_as_typed(client, studio, changed, told):
    answer = client.post("/setup", headers=SAME, data=_typed(**changed))
    assert answer.status_code in (400, 409)
    assert told in answer.text
    assert (studio.folder / "lehrling.toml").read_text(encoding="utf-8") == FILE


def test_a_way_is_added_with_its_address_kept_apart_and_shown_nowhere(client, studio):
    answer = client.post("/reach/add", headers=SAME, data={
        "name": "sister", "address": "json://127.0.0.1:9/hush", "rings": "both", "after_min": "10"})
    assert answer.status_code == 303
    sister = read_config(studio.folder / "lehrling.toml").channels[1]
    assert (sister.name, sister.after_min, [rank.value for rank in sister.ranks]) == ("sister", 10.0, ["wake"])
    assert (studio.folder / "sister.url").read_text(encoding="utf-8") == "json://127.0.0.1:9/hush\n"
    wrong = client.post("/reach/add", headers=SAME, data={"name": "mail", "address": "hush hush", "rings": "both"})
    assert wrong.status_code == 400
    assert "this is no address" in wrong.text
    assert "hush" not in wrong.text


def test_a_way_is_taken_out(client, studio):
    assert client.post("/reach/remove", headers=SAME, data={"channel": "phone"}).status_code == 303
    assert read_config(studio.folder / "lehrling.toml").channels == ()
    assert not (studio.folder / "phone.url").exists()
    assert client.post("/reach/remove", headers=SAME, data={"channel": "fax"}).status_code == 400


def test_did_it_reach_you_is_asked_once_it_is_sent_and_the_answer_is_said_before_a_start(client, studio):
    assert "<strong>phone</strong>: not tried yet" in client.get("/start").text
    assert "Nothing is known to wake you" in client.get("/start").text
    there = client.post("/reach/test", headers=SAME, data={"channel": "phone"}).location
    assert "Did it reach you?" not in client.get(there).text  # not sent yet
    studio.store(lambda db: outbox.mark(db, [outbox.Mark(1, 1, None, studio.clock.wall, "")]))
    assert "Did it reach you?" in client.get(there).text
    no = client.post("/reach/answer", headers=SAME, data={"channel": "phone", "reached": "no"})
    assert "did not reach you through phone" in client.get(no.location).text
    assert "the trial of Wed 4 Mar did not reach you" in client.get("/start").text
    client.post("/reach/answer", headers=SAME, data={"channel": "phone", "reached": "yes"})
    start = client.get("/start").text
    assert "<strong>phone</strong>: a trial reached you on Wed 4 Mar" in start
    assert "<strong>Sounder</strong>: there is none at the kiln" in start
    assert "Nothing is known to wake you" not in start


def test_answers_that_make_no_sense_are_refused_or_passed_over(client, studio):
    from daemon.store.own_facts import put_setting

    assert client.post("/reach/answer", headers=SAME, data={"channel": "phone", "reached": "?"}).status_code == 400
    for kept in ("{", "[]", '{"phone": 7}', '{"phone": {"reached": true}}'):
        db = studio.open_store()
        put_setting(db, "reached", kept)
        assert reached.answers(db) == {}
        db.close()
        assert client.get("/reach").status_code == 200


def test_power_and_price_are_set_on_the_page_and_taken_out_again(client, studio):
    file = studio.folder / "lehrling.toml"
    typed = _typed(power_kw="3,8", price_per_kwh="0.3", currency="€")
    assert client.post("/setup", headers=SAME, data=typed).status_code == 303
    energy = read_config(file).energy
    assert (energy.power_kw, energy.price_per_kwh, energy.currency) == (3.8, 0.3, "€")
    page = studio.app(config=read_config(file), kiln="Loft").test_client()
    assert 'value="3.8"' in page.get("/setup").text
    assert page.post("/setup", headers=SAME, data=_typed()).status_code == 303
    assert read_config(file).energy.power_kw is None


def test_a_power_in_watts_is_refused_where_it_was_typed(client):
    answer = client.post("/setup", headers=SAME, data=_typed(power_kw="3800"))
    assert answer.status_code == 400
    assert "3800 kW is outside 0 to 200 kW" in answer.text


def test_where_there_is_no_probe_set_up_gives_the_reason(client, studio):
    no_bus = "The thermocouple can’t be read: /dev/spidev0.0 does not exist."
    studio.say(None, temp_c=None, fault="silent", trouble=[{"ailing": "probe", "text": no_bus}])
    text = client.get("/setup").text.replace("\u00a0", " ")
    assert no_bus in text
    assert "Look at its plug" not in text
    studio.say(None, temp_c=None, fault="open")
    assert "Look at its plug" in client.get("/setup").text


def test_a_name_and_a_number_to_call_are_kept_and_one_too_long_is_refused_beside_its_field(client, studio):
    said = "Mira, 0555 01234"
    assert client.post("/setup", headers=SAME, data=_typed(whom_to_call=said)).status_code == 303
    assert read_config(studio.folder / "lehrling.toml").whom_to_call == said
    refused = client.post("/setup", headers=SAME, data=_typed(whom_to_call="9" * 81))
    assert refused.status_code == 409
    assert 'id="wrong-whom_to_call"' in refused.text
    assert read_config(studio.folder / "lehrling.toml").whom_to_call == said
