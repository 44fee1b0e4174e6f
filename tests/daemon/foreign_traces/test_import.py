"""A logger's file taken into the record by ``lehrling trace import``."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from daemon.cli import main
from daemon.firing.events import Rank
from daemon.firing.report import judge
from daemon.firing.setup import Reads
from daemon.firing.verdict.answer import Question
from daemon.firing.verdict.stored_answers import stored_verdict
from daemon.lifecycle.resume import entries
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import alerts, firings, found_parts, judgements, kilns, notes, readings
from daemon.store.chain.verify import verify
from daemon.store.database import create_database, open_database

ROOT = Path(__file__).parents[3]
LOG = ROOT / "examples/traces/other-logger.csv"
PLAN = ROOT / "examples/plans/slump-6mm.toml"


@pytest.fixture
def folder(tmp_path):
    create_database(tmp_path / "lehrling.db").close()
    (tmp_path / "lehrling.toml").write_text('[kiln]\nname = "Green kiln"\n')
    return tmp_path


@pytest.fixture
def take(folder, capsys):
    def run(*words, log=LOG):
        code = main(["trace", "import", str(log), "--data", str(folder), "--zone", "Europe/Berlin", *words])
        told = capsys.readouterr()
        return code, told.out, told.err
    return run


def record(folder):
    return open_database(folder / "lehrling.db", readonly=True)


def test_it_is_kept_as_a_firing_judged_like_a_live_one(take, folder):
    code, out, _ = take("--plan", str(PLAN), "--title", "Shallow bowl")
    assert code == 0
    assert "Kept as firing 1 of “Green kiln, another logger”" in out
    db = record(folder)
    kept = firings.firing(db, 1)
    assert (kept.title, kept.started_utc) == ("Shallow bowl", datetime(2026, 2, 14, 18, 40, tzinfo=UTC))
    assert kept.ended_s == 54_000
    assert [part.step for part in found_parts.parts(db, 1)] == [1, 1, 2, 2, 3, 4, 5]
    assert alerts.alerts(db, 1) == []
    assert readings.highest_c(db, 1) == pytest.approx((1207.3 - 32) / 1.8, abs=0.01)
    assert kilns.find(db, "Green kiln") is None


def test_its_alarms_would_have_got_one_up_by_the_rules_of_then_and_of_today(take, folder):
    """Held against a plan that it did not run, it has alarms that wake."""
    take("--plan", str(ROOT / "examples/plans/full-fuse-6mm.toml"))
    db = record(folder)
    assert any(alert.rank is Rank.WAKE for alert in alerts.alerts(db, 1))
    today = judge(known_setup(db, firings.firing(db, 1), Reads("C")), entries(db, 1))
    for answers in (stored_verdict(judgements.judgement(db, 1).told, "C"), today.verdict_in_words("C")):
        (alarms,) = [answer.answer for answer in answers if answer.kind is Question.ALARMS]
        assert alarms.startswith("No, it would have got you up"), alarms


def test_its_source_stands_in_a_note(take, folder):
    take()
    (note,) = notes.notes(record(folder), 1)
    assert note.text.startswith("Taken in from other-logger.csv of another logger (SHA-256 8cd5dbb46f50dfdc")
    assert "column 'Kiln (°F)', °F" in note.text


def test_the_file_comes_back_byte_for_byte_and_is_in_the_chain(take, folder, tmp_path, capsys):
    _, out, _ = take()
    assert "lehrling trace source 1 FILE" in out
    back = ["trace", "source", "1", str(tmp_path / "back.csv"), "--data", str(folder)]
    assert main(back) == 0
    assert (tmp_path / "back.csv").read_bytes() == LOG.read_bytes()
    assert main(back) == 2
    assert "is there already" in capsys.readouterr().err
    db = open_database(folder / "lehrling.db")
    (seen,) = verify(db)
    assert seen.state == "whole"
    db.execute("UPDATE source_file SET packed = x'00'")
    (seen,) = verify(db)
    assert seen.sentences(UTC) == ["The file of another logger was changed after it was kept."]
    db.conn.commit()
    assert main([*back[:3], str(tmp_path / "again.csv"), *back[4:]]) == 2
    assert "is damaged" in capsys.readouterr().err


def test_a_firing_that_no_file_was_taken_in_for_has_none(take, folder, tmp_path, capsys):
    assert main(["trace", "source", "1", str(tmp_path / "x"), "--data", str(folder)]) == 2
    assert "firing 1: has no file of another logger." in capsys.readouterr().err
    assert not (tmp_path / "x").exists()


def test_into_a_kiln_whose_firing_runs_nothing_is_taken_in(take, folder):
    db = open_database(folder / "lehrling.db")
    kiln = kilns.kiln_id(db, "Green kiln")
    firings.open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "probe", "K"), title="Tonight",
                        opened_by="maker", started_utc=datetime(2026, 5, 1, tzinfo=UTC), boot_id="b", clock_s=0.0)
    code, _, err = take("--kiln", "Green kiln")
    assert code == 2
    assert "“Tonight” runs in this kiln. Import the file when that firing has ended" in err
    assert firings.firing(record(folder), 2) is None


def test_a_file_that_is_too_long_to_be_kept_is_refused(take, folder, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("s,T °C,remark\n" + "".join(f"{60 * i},{20 + i % 90},{'x' * 9000}\n" for i in range(1000)))
    code, _, err = take("--began", "2026-03-04T20:30", log=log)
    assert code == 2
    assert "has 8.6 MB; at most 8 MB are taken, since the file is kept with the firing. Cut it" in err


def test_the_same_file_is_not_kept_twice(take, folder):
    take()
    code, _, err = take("--title", "Again")
    assert code == 2
    assert "was taken in before, as firing 1" in err
    assert firings.firing(record(folder), 2) is None


def test_an_open_firing_of_the_own_kiln_goes_on(take, folder):
    db = open_database(folder / "lehrling.db")
    kiln = kilns.kiln_id(db, "Green kiln")
    firings.open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "probe", "K"), title="Tonight",
                        opened_by="maker", started_utc=datetime(2026, 5, 1, tzinfo=UTC), boot_id="b", clock_s=0.0)
    assert take()[0] == 0
    assert firings.current(db, kiln).title == "Tonight"


def test_a_file_without_a_date_asks_when_it_began(take, folder, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("s,T °C\n" + "".join(f"{60 * i},{20 + i}\n" for i in range(200)))
    code, _, err = take(log=log)
    assert code == 2
    assert "--began 2026-03-04T20:30" in err
    assert take("--began", "soon", log=log)[0] == 2
    assert take("--began", "2026-03-04T20:30", log=log)[0] == 0
    assert firings.firing(record(folder), 1).started_utc == datetime(2026, 3, 4, 19, 30, tzinfo=UTC)


def test_without_a_record_nothing_is_made(tmp_path, capsys):
    assert main(["trace", "import", str(LOG), "--data", str(tmp_path)]) == 2
    assert "holds no record yet" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
