"""``lehrling trace``: what a logger's file is taken for, and the file turned into a trace that replay reads."""

import json
from datetime import UTC, datetime, timedelta

import pytest

from daemon.cli import main
from daemon.firing.trace.csv_trace import read_trace

BEGAN = datetime(2026, 3, 3, 20, 30, tzinfo=UTC)


def german(every_s=30, rows=600):
    """Return a file with semicolons, decimal commas, a page above it and two columns that climb."""
    lines = ["Studio;erfunden", "", "Datum;Uhrzeit;Ofen °C;Soll °C"]
    for i in range(rows):
        at, temp_c = BEGAN + timedelta(seconds=every_s * i), 20 + i
        lines.append(f"{at:%d.%m.%Y};{at:%H:%M:%S};{temp_c},5;{temp_c + 2},0")
    return "\n".join(lines)


@pytest.fixture
def lehrling(tmp_path, capsys):
    def run(*words, text=None, data=None, name="log.csv"):
        path = tmp_path / name
        if text is not None:
            path.write_text(text, encoding="cp1252")
        if data is not None:
            path.write_bytes(data)
        code = main(["trace", words[0], str(path), *map(str, words[1:])])
        told = capsys.readouterr()
        return code, told.out, told.err
    return run


def test_it_says_what_it_takes_each_thing_for_and_stores_nothing(lehrling, tmp_path):
    code, out, _ = lehrling("show", "--zone", "UTC", text=german())
    assert code == 0
    assert "a semicolon between them, a comma before decimals" in out
    assert "columns 'Datum' and 'Uhrzeit', date and time, day first, time zone UTC" in out
    assert "highest    2026-03-04 01:29  619.5 °C" in out
    assert "600 readings, one every 30 s, no gap" in out
    assert out.endswith("Nothing was stored.\n")
    assert [path.name for path in tmp_path.iterdir()] == ["log.csv"]


def test_its_json_is_the_same_in_figures(lehrling):
    code, out, _ = lehrling("show", "--json", "--zone", "UTC", text=german())
    found = json.loads(out)
    assert code == 0
    assert found["temperature"] == {"column": "Ofen °C", "unit": "C"}
    assert (found["began_utc"], found["readings"], found["peak_c"]) == ("2026-03-03T20:30:00Z", 600, 619.5)


def test_a_converted_file_is_a_trace(lehrling, tmp_path):
    out_path = tmp_path / "trace.csv"
    code, out, _ = lehrling("convert", out_path, "--temperature", "Soll °C", text=german(every_s=5))
    assert code == 0
    assert str(out_path) in out
    samples = read_trace(out_path.read_text().splitlines(), "trace.csv").samples
    assert [(s.t_s, s.temp_c) for s in samples] == [(5 * i, 22 + i) for i in range(600)]


def test_another_file_is_not_written_over(lehrling, tmp_path):
    out_path = tmp_path / "plan.toml"
    out_path.write_text("title = 1")
    code, _, err = lehrling("convert", out_path, text=german())
    assert code == 2
    assert "holds something else" in err
    assert out_path.read_text() == "title = 1"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_the_code_page_of_the_logger_is_found(lehrling, encoding):
    code, out, _ = lehrling("show", data=german().encode(encoding))
    assert code == 0
    assert "'Ofen °C', °C" in out


@pytest.mark.parametrize(("data", "words", "told"), [
    (b"PK\x03\x04rest", [], "workbook"),
    (b"a,b\x00c", [], "no text"),
    (b"\xff\xfea", [], "cut off"),
    (german().encode(), ["--zone", "Middle/Earth"], "--zone Middle/Earth"),
    (german().encode(), ["--every-s", "0"], "--every-s 0"),
    (german().encode(), ["--temperature", "Kiln"], "1 Datum, 2 Uhrzeit, 3 Ofen °C, 4 Soll °C"),
    (german().encode(), ["--temperature", "Datum"], "holds no numbers"),
])
def test_what_cannot_be_used_is_named_with_its_remedy(lehrling, data, words, told):
    code, out, err = lehrling("show", *words, data=data)
    assert (code, out) == (2, "")
    assert told in err
    assert len(err.splitlines()) == 1


def test_replay_names_the_command_for_another_loggers_file(tmp_path, capsys):
    path = tmp_path / "log.csv"
    path.write_text(german())
    assert main(["replay", str(path)]) == 2
    assert "lehrling trace convert" in capsys.readouterr().err
