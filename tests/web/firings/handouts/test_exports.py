"""What is taken away is what is stored, reads back as it was, and runs nothing in a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
from xml.etree import ElementTree

from daemon.commands.replay import COMMAND
from daemon.store import firings, readings
from daemon.store.safety import record_mark


def test_the_csv_gives_every_reading_to_the_last_bit(client, studio):
    number = studio.fill(until_s=20_000.0, ended=True)
    answer = client.get(f"/firings/{number}/trace.csv")
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="2026-03-0')
    header, *rows = list(csv.reader(io.StringIO(answer.text)))
    assert header == ["seconds", "celsius", "fault"]
    stored = studio.store(lambda db: readings.samples(db, number))
    assert [(float(t), float(c)) for t, c, _ in rows] == [(s.t_s, s.temp_c) for s in stored]


def test_the_csv_is_one_that_replay_reads(client, studio, tmp_path, capsys):
    import argparse

    number = studio.fill(until_s=20_000.0, ended=True)
    (tmp_path / "trace.csv").write_text(client.get(f"/firings/{number}/trace.csv").text, encoding="utf-8")
    parser = argparse.ArgumentParser()
    COMMAND.configure(parser)
    assert COMMAND.run(parser.parse_args([str(tmp_path / "trace.csv"), "--json"])) in (0, 3)
    assert json.loads(capsys.readouterr().out)["summary"]["readings"] == studio.store(
        lambda db: len(readings.samples(db, number)))


def test_the_json_holds_everything_and_the_mark_of_the_record(client, studio):
    number = studio.fill(until_s=20_000.0, ended=True, alert=True)
    told = client.get(f"/firings/{number}/firing.json").json
    assert told["mark"] == studio.store(lambda db: record_mark.head(db, number))
    assert told["alerts"][0]["kind"] == "cooling-too-fast"
    assert told["pieces"][0]["name"] == "River bowl"
    assert told["readings"]["rows"] == [[s.t_s, s.temp_c, s.fault]
                                        for s in studio.store(lambda db: readings.samples(db, number))]


def test_the_picture_is_a_drawing_of_its_own(client, studio):
    number = studio.fill(until_s=20_000.0, ended=True)
    drawn = client.get(f"/firings/{number}/trace.svg")
    root = ElementTree.fromstring(drawn.text)
    assert root.tag.endswith("svg")
    assert "attachment" in drawn.headers["Content-Disposition"]
    assert "Content-Disposition" not in client.get(f"/firings/{number}/trace.svg?shown=1").headers


def test_a_title_that_looks_like_a_formula_is_text_in_the_list(client, studio):
    number = studio.fill(until_s=3000.0, ended=True, title="=HYPERLINK(\"http://127.0.0.1\")")
    assert "'=HYPERLINK" in client.get("/firings.csv").text
    studio.store(lambda db: firings.name_firing(db, number, {"title": "../../etc/passwd\r\nX: y"}))
    name = client.get(f"/firings/{number}/trace.csv").headers["Content-Disposition"]
    assert name.endswith('-etc-passwd-x-y.csv"')


def test_the_card_has_the_trace_the_figures_the_mark_and_what_it_cannot_know(client, studio):
    number = studio.fill(until_s=30_000.0, ended=True, alert=True)
    page = client.get(f"/firings/{number}/card").text
    for words in ("Bowl blank, river glass", "<svg", "What the probe saw", "River bowl", "step 3, hold, anneal",
                  "cooling too fast", "fit for food"):
        assert words in page, words
    assert record_mark.short(studio.store(lambda db: record_mark.head(db, number))) in page
    colours = set(__import__("re").findall(r'(?:fill|stroke)="(#[0-9a-f]{6})"', page))
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours), colours  # black, white and greys only


def test_the_trace_can_be_read_as_a_table_and_a_gap_is_said(client, studio):
    number = studio.fill(until_s=20_000.0, ended=True)
    page = client.get(f"/firings/{number}/table").text
    stored = {s.t_s: s.temp_c for s in studio.store(lambda db: readings.samples(db, number))}
    assert f"<td>{stored[6000.0]:.0f}</td>" in page
    assert "<td>no reading</td>" in page  # 9000 to 9600 s is a hole
