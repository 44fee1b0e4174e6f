"""A generated record that is as if it were lived, what it costs, and the table that says so."""

from __future__ import annotations

import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pytest

from benchmarks.growth import record
from benchmarks.growth.__main__ import main
from benchmarks.growth.commands import Cost, middle, page, run
from benchmarks.growth.page import COPY, EXPORT, PAGES, VERIFY, Size, missed, table
from benchmarks.growth.record import Grown
from daemon.store import firing_list, found_parts, judgements, photographs, readings
from daemon.store.chain.verify import verify
from daemon.store.database import FILE_NAME, open_database
from daemon.store.finding import search
from daemon.store.wear import heat

NOW = datetime(2026, 11, 30, tzinfo=UTC)
COUNT, READINGS = 8, 3000
ASKED = {"first_ms": 40.0, "ms": 20.0, "cpu_ms": 12.4, "kb": 30.0, "peak_mb": 61.0}
COST = Cost(2.0, 1.25, 58.0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("grown")
    record.grow(made, COUNT, READINGS, NOW)
    return made


@pytest.fixture
def db(folder):
    opened = open_database(folder / FILE_NAME)
    yield opened
    opened.close()


def size(firings=50, bytes_a_reading=22.0, daemon_mb=55.0, **pages):
    named = {name: {**ASKED, **pages.get(path, {})} for name, (path, _) in PAGES.items()}
    grown = Grown(firings, 1000, round(1000 * bytes_a_reading), 26_000, "Piece 1")
    return Size(grown, named, dict.fromkeys((COPY, VERIFY, EXPORT), COST),
                {"resident_mb": daemon_mb, "share_of_a_core": 0.008})


@pytest.mark.slow
def test_each_firing_of_a_grown_record_has_a_chain_that_is_whole(db):
    found = list(verify(db))
    assert [one.state for one in found] == ["whole"] * COUNT
    assert len({one.mark for one in found}) == COUNT  # each a chain of its own


@pytest.mark.slow
def test_the_chain_of_a_copied_firing_finds_a_changed_reading(folder, tmp_path):
    other = tmp_path / FILE_NAME
    other.write_bytes((folder / FILE_NAME).read_bytes())
    db = open_database(other)
    db.execute("UPDATE reading SET temp_128 = temp_128 + 1 WHERE firing_id = ? AND t_s = 3000", [COUNT])
    db.commit()
    assert [one.state for one in verify(db)] == ["whole"] * (COUNT - 1) + ["changed"]
    db.close()


@pytest.mark.slow
def test_a_copied_firing_has_all_that_the_simulated_one_has(db):
    first, copied = 2, 2 + len(record.FIRED)
    assert readings.samples(db, copied) == readings.samples(db, first)
    assert len(readings.samples(db, copied)) == READINGS
    assert found_parts.parts(db, copied) == found_parts.parts(db, first)
    assert judgements.judgement(db, copied).told == judgements.judgement(db, first).told
    assert heat.of_firing(db, copied) == heat.of_firing(db, first)
    assert readings.thinned(db, copied) == readings.thinned(db, first)
    assert not heat.due(db, 1, 10)
    assert not readings.not_thinned(db, 10)


@pytest.mark.slow
def test_a_grown_record_has_its_pieces_notes_photographs_and_words(db, folder):
    for table_name in ("piece", "note", "photograph", "outcome"):
        assert db.execute(f"SELECT count(*) FROM {table_name}").fetchone()[0] == 2 * COUNT
    listed = firing_list.matching(db)
    assert len(listed) == COUNT
    assert all((folder / photographs.FOLDER / f"{one.picture.mark}-thumb.jpg").is_file() for one in listed)
    assert listed[0].firing.started_utc > listed[1].firing.ended_utc  # one kiln, one firing at a time
    assert search.is_whole(db)


@pytest.mark.slow
def test_each_page_is_asked_in_a_process_of_its_own(folder):
    took = page(folder, "/firings", 1)
    assert took["kb"] > 5
    assert took["peak_mb"] > 20
    assert took["cpu_ms"] > 0


@pytest.mark.slow
def test_a_page_that_is_not_there_is_no_figure(folder):
    with pytest.raises(RuntimeError, match="404 NOT FOUND"):
        page(folder, "/firings/99", 1)


@pytest.mark.slow
def test_a_tiny_run_prints_the_table(capsys, monkeypatch, tmp_path):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))  # where the folders of the tests are
    code = main(["--firings", "3", "--readings", "240", "--runs", "1", "--daemon-s", "0"])
    said = capsys.readouterr().out
    assert "| 3 firings |" in said
    assert "lehrling archive verify" in said
    assert code == (1 if "were promised" in said else 0)
    assert not list(tmp_path.iterdir())


def test_too_few_firings_are_refused(tmp_path):
    with pytest.raises(ValueError, match="at least 3"):
        record.grow(tmp_path, 2, 10, NOW)
    with pytest.raises(SystemExit):
        main(["--firings", "2"])


def test_a_command_that_fails_is_no_figure():
    with pytest.raises(RuntimeError, match=r"ended with 3: .*no such kiln"):
        run([sys.executable, "-c", "import sys; sys.stderr.write('no such kiln'); sys.exit(3)"])


def test_the_memory_of_a_command_is_its_own(tmp_path):
    said = tmp_path / "said"
    small = run([sys.executable, "-c", "print('hello')"], said)
    large = run([sys.executable, "-c", "x = bytearray(b'1') * 64_000_000"])
    assert Path(said).read_text() == "hello\n"
    assert large.peak_mb - small.peak_mb == pytest.approx(61, abs=6)  # 64,000,000 bytes are 61 MB of 1024 kB


def test_of_several_runs_the_median_counts_and_the_largest_memory():
    assert middle([Cost(1, 5, 50), Cost(9, 4, 51), Cost(2, 6, 49)]) == Cost(2, 5, 51)


def test_what_is_reached_is_not_said_to_be_missed():
    assert missed([size(), size(5000, daemon_mb=56.0)]) == []


def test_a_page_that_is_too_slow_is_named_with_its_size_and_its_processor_time():
    slow = {"ms": 130.0, "cpu_ms": 40.0}
    assert missed([size(), size(5000, **{"/firings": slow, "/questions": {"ms": 900.0}})]) == [
        "List of firings, first page: 130 ms with 5,000 firings, of these 40 ms of the processor;"
        " 100 ms were promised."]


def test_more_than_24_bytes_a_reading_are_missed():
    assert missed([size(bytes_a_reading=24.1)]) == ["A reading takes 24.1 bytes with 50 firings; 24 were promised."]


def test_a_daemon_whose_memory_grows_with_the_record_is_missed():
    assert missed([size(daemon_mb=52.0), size(5000, daemon_mb=59.0)]) == [
        "The daemon's memory is not the same for all records: 52.0 to 59.0 MB."]
    assert missed([size(daemon_mb=61.0)]) == ["The daemon holds 61.0 MB with 50 firings; 60 were promised."]


def test_the_table_has_a_column_for_each_size():
    lines = table([size(), size(5000)]).splitlines()
    assert lines[0] == "|  | aim | 50 firings | 5,000 firings |"
    assert {line.count("|") for line in lines} == {5}
    assert "| List of firings, first page | 100 ms | 20 ms, 12 cpu; 61 MB | 20 ms, 12 cpu; 61 MB |" in lines
    assert f"| `{VERIFY}` |  | 2.0 s, 1.2 cpu; 58 MB | 2.0 s, 1.2 cpu; 58 MB |" in lines
    assert "| The daemon, a firing open | 60 MB, 1 % | 55.0 MB, 0.8% | 55.0 MB, 0.8% |" in lines
