"""A file of another logger, sent by the page, shown, corrected, and kept."""

from __future__ import annotations

import io
import os
import re
from pathlib import Path

import pytest

from daemon.store import firings, kilns, notes, pieces, plans, readings
from daemon.store.chain import source_file
from daemon.store.chain.verify import verify
from web.other_logs import reading_process, waiting_files
from web.other_logs.as_read import in_the_forms_words

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
ROOT = Path(__file__).parents[3]
LOG = (ROOT / "examples/traces/other-logger.csv").read_bytes()
NO_DATE = b"s,T\n" + b"".join(b"%d,%d\n" % (60 * at, 20 + at) for at in range(300))


@pytest.fixture
def other(studio):
    """Return a studio with a piece and a plan, and nothing that runs."""
    studio.open_store().close()
    studio.store(lambda db: (
        pieces.add_piece(db, name="River bowl", glass="96", thickness_mm=9.0, now_utc=studio.clock.wall),
        plans.add_plan(db, (ROOT / "examples/plans/slump-6mm.toml").read_text(), studio.clock.wall),
        kilns.kiln_id(db, "small kiln")))
    return studio


@pytest.fixture
def client(other):
    return other.app().test_client()


def send(client, body=LOG, name="log.csv"):
    return client.post("/firings/other-logger", data={"log": (io.BytesIO(body), name)}, headers=SAME,
                       content_type="multipart/form-data")


def rows(studio, table):
    return studio.store(lambda db: db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def test_what_is_understood_is_shown_before_anything_is_stored(client, other):
    sent = send(client)
    assert sent.status_code == 303
    page = client.get(sent.location).text
    assert "2026-02-14 19:40, 19\u00a0°C" in page  # no line ends between figure and unit
    page = page.replace("\u00a0", " ")
    for said in ("Nothing is stored yet", "column &#39;Kiln (°F)&#39;, °F", "2026-02-14 19:40, 19 °C", "653 °C",
                 "451 readings, one every 2 min, no gap.", "<td>66,8</td>", "14.02.2026", 'class="trace"'):
        assert said in page, said
    assert "--temperature" not in page
    assert (rows(other, "firing"), rows(other, "source_file")) == (0, 0)


def test_a_guess_is_changed_by_a_plain_form_and_the_rest_is_guessed_anew(client):
    place = send(client).location
    page = client.get(f"{place}&temperature=5&zone=America/New_York").text
    assert "column &#39;Power (%)&#39;" in page
    assert '<option value="5" selected>5: Power (%)</option>' in page
    assert "time zone America/New_York" in page
    assert '<option value="" selected>as guessed: a semicolon</option>' in page


def test_it_is_kept_as_a_firing_judged_like_a_live_one_with_its_file(client, other):
    place = send(client, name="/logs/own log.csv").location
    kept = client.post(place, headers=SAME, data={"kiln": "small kiln, another logger", "piece": "1", "plan": "1",
                                                  "title": "Shallow bowl"})
    assert (kept.status_code, kept.location) == (303, "/firings/1")
    row = other.store(lambda db: firings.firing(db, 1))
    assert (row.title, row.piece_ids, row.plan_id) == ("Shallow bowl", (1,), 1)
    assert (row.thickness_mm, row.glass) == (9.0, "96")
    assert other.store(lambda db: kilns.find(db, "small kiln, another logger")) == row.kiln_id
    assert other.store(lambda db: readings.highest_c(db, 1)) == pytest.approx((1207.3 - 32) / 1.8, abs=0.01)
    assert [seen.state for seen in other.store(lambda db: list(verify(db)))] == ["whole"]
    assert "own log.csv" in client.get("/firings/1").text
    back = client.get("/firings/1/source")
    assert back.data == LOG
    assert back.headers["Content-Disposition"] == "attachment; filename*=UTF-8''own%20log.csv"
    assert other.store(lambda db: source_file.name_of(db, 1)) == ("own log.csv", len(LOG))
    assert client.get(place).status_code == 404, "it waits no longer"
    assert rows(other, "outbox") == 0, "nobody is told"
    assert other.store(lambda db: notes.notes(db, 1))[0].text.startswith("Taken in from own log.csv")


def test_the_same_file_twice_is_said_and_kept_once(client, other):
    form = {"kiln": "small kiln, another logger"}
    assert client.post(send(client).location, headers=SAME, data=form).status_code == 303
    again = client.post(send(client).location, headers=SAME, data=form)
    assert again.status_code == 400
    assert "was taken in before, as firing 1." in again.text
    assert rows(other, "firing") == 1


def test_a_file_without_a_date_asks_for_it(client, other):
    place = send(client, NO_DATE).location
    assert 'name="began"' in client.get(place).text
    form = {"kiln": "k", "title": "Test"}
    said = client.post(place, headers=SAME, data=form)
    assert (said.status_code, "Say when its first row was read." in said.text) == (400, True)
    said = client.post(place, headers=SAME, data={**form, "began": "soon"})
    assert "Write it as 2026-03-04T20:30." in said.text
    assert 'value="soon"' in said.text
    assert client.post(place, headers=SAME, data={**form, "began": "2026-03-04T20:30"}).status_code == 303
    assert other.store(lambda db: firings.firing(db, 1)).started_utc.isoformat() == "2026-03-04T19:30:00+00:00"


def test_while_a_firing_runs_it_goes_on_and_its_own_kiln_takes_nothing(other):
    number = other.fill(until_s=24_000.0)
    client = other.app().test_client()
    place = send(client).location
    assert "runs now. It is watched all the while" in client.get(place).text
    refused = client.post(place, headers=SAME, data={"kiln": "small kiln"})
    assert refused.status_code == 400
    assert "runs in this kiln. Wait until it has ended, or write another name, such as “small kiln, another logger”" \
        in refused.text
    assert client.post(place, headers=SAME, data={"kiln": "small kiln, another logger"}).status_code == 303
    kiln = other.store(lambda db: kilns.find(db, "small kiln"))
    assert other.store(lambda db: firings.current(db, kiln)).firing_id == number


@pytest.mark.parametrize(("body", "said"), [
    (b"hello\nworld\n",
     "A time and a temperature are needed. Say what stands between the cells: “Between the cells”."),
    (b"when,temp\nx,22\ny,27\nz,20\n", "Name the one that does: “Times”. Or say how far apart the rows are: “Seconds "
                                    "between two rows” 60."),
    (b"time,T\n2026-01-01 10:00,open\n2026-01-01 10:01,open\n", "no column holds temperatures"),
])
def test_a_file_that_can_not_be_read_gets_a_sentence_and_fields_to_say_more(client, other, body, said):
    answer = client.get(send(client, body).location)
    assert answer.status_code == 422
    assert said in answer.text
    assert "--" not in re.sub(r"<!--.*?-->", "", answer.text)
    assert 'name="delimiter"' in answer.text
    assert rows(other, "firing") == 0


@pytest.mark.parametrize(("body", "said"), [
    (b"", "is empty"), (b"PK\x03\x04xx", "Save the sheet as CSV"), (b"\x00\x01\x02", "is no text"),
    (b"\xff\xfea", "Copy it anew from the logger"), (b"a,b\nx,y\nz,w\n", "has no row of figures"),
])
def test_a_file_that_no_answer_makes_readable_gets_the_error_and_the_remedy_alone(client, other, body, said):
    place = send(client, body).location
    answer = client.get(place)
    assert answer.status_code == 422
    assert said in answer.text
    assert "Choose another file" in answer.text
    main = answer.text.split("<main")[1].split("</main>")[0]
    assert not re.findall(r"<(?:input|select|button|details)\b", main)
    assert 'name="delimiter"' in client.get(f"{place}&decimal=comma").text  # what was said can be unsaid
    assert rows(other, "firing") == 0


def test_what_is_no_file_or_too_long_is_said_on_the_form(client, other, monkeypatch):
    monkeypatch.setattr(waiting_files, "MOST_BYTES", 1000)
    assert "has more than 8 MB. Cut it" in send(client, b"x" * 1001).text
    assert "Choose a file first." in client.post("/firings/other-logger", headers=SAME, data={}).text
    assert list((other.folder / waiting_files.FOLDER).iterdir()) == []


def test_a_long_file_passes_the_form(client):
    head = b'--x\r\nContent-Disposition: form-data; name="log"; filename="a.csv"\r\n\r\n'
    body = head + b"s,T\n" + b"1,20\n" * 300_000 + b"\r\n--x--\r\n"
    sent = client.post("/firings/other-logger", data=body, headers=SAME,
                       content_type="multipart/form-data; boundary=x")
    assert sent.status_code == 303


def test_few_files_wait_and_none_for_long(tmp_path):
    tokens = [waiting_files.put(tmp_path / "x", io.BytesIO(b"%d" % at), 0.0) for at in range(9)]
    there = [waiting_files.path_of(tmp_path / "x", token) for token in tokens]
    assert sum(path is not None for path in there) == waiting_files.MOST
    assert waiting_files.path_of(tmp_path / "x", "../x") is None
    for path in filter(None, there):
        os.utime(path, (1000.0, 1000.0))
    last = waiting_files.put(tmp_path / "x", io.BytesIO(b""), 1001.0 + waiting_files.KEPT_S)
    assert [path.name for path in (tmp_path / "x").iterdir()] == [last]


def test_a_file_that_needs_too_much_memory_or_time_gets_a_sentence(client, monkeypatch):
    place = send(client).location
    monkeypatch.setattr(reading_process, "MOST_MEMORY_BYTES", 1)  # of this process; the other one has its own
    monkeypatch.setattr(reading_process._PROCESS, "_longest_s", 0.01)
    answer = client.get(place)
    assert answer.status_code == 422
    assert "Nothing was stored. Wait a minute and try it once more" in answer.text


def test_a_name_and_cells_that_are_markup_are_shown_as_text(client):
    place = send(client, LOG.replace(b"Shelf", b"<b>x</b>"), name="<i>x.csv").location
    page = client.get(place).text
    assert "<b>x</b>" not in page
    assert "<i>x" not in page


def test_options_are_called_as_the_fields_are():
    assert in_the_forms_words("Name it (--time) and what it counts (--time-form).") == "Name it and what it counts."
    assert in_the_forms_words("Say: --time-form.") == "Say: “The times are”."


def test_no_source_is_no_file(client, other):
    other.fill(ended=True)
    answer = other.app().test_client().get("/firings/1/source")
    assert answer.status_code == 404
