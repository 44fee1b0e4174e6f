"""``lehrling archive`` on the command line."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from daemon.cli import main
from daemon.commands import archive as command
from daemon.store import notes
from daemon.store.database import open_database
from daemon.store.safety import record_mark

DOCUMENT = Path(__file__).parents[3] / "docs" / "archive.md"
EXAMPLE = Path(__file__).parents[3] / "examples" / "archive.zip"


@pytest.fixture
def said(record, tmp_path, capsys):
    """Return a function that calls the command on a record of one firing; it returns (code, printed, complaint)."""
    db = open_database(record)
    db.execute("UPDATE firing SET ended_utc = coalesce(ended_utc, started_utc), ended_s = coalesce(ended_s, 0)")
    db.close()

    def run(action, *words, data=tmp_path):
        code = main(["archive", action, *map(str, words), "--data", str(data), "--run", str(tmp_path)])
        told = capsys.readouterr()
        return code, told.out, told.err
    return run


def change(record, sql):
    db = open_database(record)
    db.execute(sql)
    db.conn.commit()
    db.close()


def test_the_record_is_listed_and_a_firing_shown(said):
    code, out, err = said("list")
    assert (code, err) == (0, "")
    assert re.fullmatch(r"    1  2026-03-0\d  [0-9A-Z]{5}( [0-9A-Z]{5}){3}  Bowl\n", out)
    code, out, err = said("show", 1)
    assert code == 0
    assert "  plan      none\n" in out
    code, out, err = said("list", "--json")
    (listed,) = json.loads(out)["firings"]
    assert json.loads(said("show", 1, "--json")[1])["mark"] == listed["mark"]
    assert said("show", 7)[0] == 2


def test_a_change_of_the_record_is_named_and_is_bad_input(said, record):
    # The firing of this record has ended behind its chain, so its facts are not as they were kept either.
    change(record, "UPDATE reading SET temp_128 = temp_128 + 1 WHERE t_s = 5000")
    code, out, err = said("verify")
    assert code == 2
    assert "NOT AS IT WAS KEPT" in out
    assert "The readings from 1:20 to 1:30 (" in out
    assert err.startswith("lehrling: ")
    assert "not as it was kept: firing 1. Keep this record as it is." in err
    code, out, _ = said("verify", "--json")
    told = json.loads(out)
    assert (code, told["whole"], told["firings"][0]["state"]) == (2, False, "changed")
    assert {"how": "changed", "kind": "readings", "ref": 8} in told["firings"][0]["faults"]


def test_an_earlier_mark_stays_good_and_an_unknown_one_does_not(said, tmp_path, capsys, box):
    one = box("one")
    one.fire()
    with one.db() as db:
        mark = record_mark.short(record_mark.head(db, 1))
        notes.add_note(db, 1, "Later.", datetime(2026, 3, 2, tzinfo=UTC))
    code, out, _ = said("verify", "--mark", mark.lower().replace(" ", "-"), data=one.folder)
    assert code == 0
    assert out == ("Firing 1, Bowl, had this mark. What was kept until then is as it was kept. 1 entry came later, "
                   "such as notes and corrections.\n")
    assert json.loads(said("verify", "--mark", mark, "--json", data=one.folder)[1])["links_at_mark"] > 5
    code, _, err = said("verify", "--mark", "00000 00000 00000 00000", data=one.folder)
    assert (code, "no firing here has had this mark" in err) == (2, True)
    assert "is no mark" in said("verify", "--mark", "hello", data=one.folder)[2]
    with one.db() as db:
        db.execute("UPDATE note SET text = 'Never.' WHERE note_id = 1")
        db.conn.commit()
    code, _, err = said("verify", "--mark", mark, data=one.folder)
    assert (code, "Note 1 was changed after it was kept." in err) == (2, True)


def test_out_and_in_again(said, tmp_path, box):
    one, other = box("one"), box("other")
    one.fire()
    code, out, _ = said("export", tmp_path / "a.zip", "--without-pages", data=one.folder)
    assert (code, out) == (0, f"1 firing, 1 piece and 1 photograph are in {tmp_path}/a.zip.\n")
    assert said("export", tmp_path / "a.zip", data=one.folder)[0] == 2
    told = json.loads(said("export", tmp_path / "b", "--without-pages", "--json", data=one.folder)[1])
    assert (told["firings"], told["left_out"]) == (1, {"running": 0, "deleted": 0})
    code, out, _ = said("verify", tmp_path / "a.zip", data=tmp_path / "nowhere")
    assert (code, "is whole: 1 firing, 1 piece and 1 photograph" in out) == (0, True)
    code, out, _ = said("import", tmp_path / "a.zip", data=other.folder)
    assert (code, out) == (0, "1 firing and 1 photograph were taken in, as number 1.\n")
    code, out, _ = said("import", tmp_path / "b", "--json", data=other.folder)
    assert json.loads(out) == {
        "taken": [], "here_already": [{"was": 1, "number": 1}], "differs": [], "photographs": 0}


def test_one_piece_is_named_by_name_or_number(said, tmp_path, box):
    one = box("one")
    one.fire()
    one.fire("Dish", "boot-b")
    with one.db() as db:
        db.execute("UPDATE piece SET name = 'Twin'")
        db.conn.commit()
    code, _, err = said("export", tmp_path / "a", "--piece", "Twin", data=one.folder)
    assert (code, "2 pieces have this name: 1, 2. Give the number instead." in err) == (2, True)
    assert "there is no such piece" in said("export", tmp_path / "a", "--piece", "9" * 30, data=one.folder)[2]
    assert said("export", tmp_path / "a", "--piece", "2", "--without-pages", data=one.folder)[0] == 0


def test_nothing_is_taken_in_while_the_kiln_is_hot(said, tmp_path, box, monkeypatch):
    monkeypatch.setattr(command.copies, "is_hot", lambda run_dir: True)
    code, _, err = said("import", tmp_path / "a", data=box("one").folder)
    assert (code, "lehrling: not now: the kiln is hot or a firing is open" in err) == (2, True)


def test_backup_makes_a_copy_of_the_record(said, record, monkeypatch):
    monkeypatch.setattr(os, "nice", lambda by: by)
    code, out, _ = said("backup")
    assert (code, "The record is copied, and the copy checked" in out) == (0, True)
    assert len(list((record.parent / "backups").glob("*.db"))) == 1


def test_a_record_of_an_older_version_and_none_at_all_are_said(said, record, tmp_path):
    change(record, "DELETE FROM _sqlite_migrations WHERE name = 'm_chain'")
    assert "is of an older version. Start lehrling daemon once" in said("list")[2]
    (tmp_path / "empty").mkdir()
    assert "no such database" in said("verify", data=tmp_path / "empty")[2]
    assert "no such folder" in said("verify", data=tmp_path / "nowhere")[2]


def test_a_stranger_checks_a_firing_with_the_program_of_the_document(tmp_path, box):
    program = re.search(r"^```python\n(.*?)^```$", DOCUMENT.read_text(encoding="utf-8"), re.MULTILINE | re.DOTALL)[1]
    one = box("one")
    one.fire()
    one.export(tmp_path / "a")
    with one.db() as db:
        mark = record_mark.short(record_mark.head(db, 1))

    def check(folder):
        return subprocess.run([sys.executable, "-I", "-c", program, str(folder)], capture_output=True, text=True,
                              timeout=60, check=False)

    folder = tmp_path / "a" / "firings" / "000001"
    assert check(folder).stdout == f"whole; its mark is {mark}\n"
    csv = folder / "readings.csv"
    lines = csv.read_text().splitlines()
    csv.write_text("\n".join([*lines[:15], *lines[16:]]))
    assert "not as it was kept: ('readings', 1)" in check(folder).stderr
    csv.write_text("\n".join(lines))
    kept = json.loads((folder / "firing.json").read_text())
    for harm, told in ((lambda it: it["note"][0].update(text="x"), "not as it was kept: ('note', 1)"),
                       (lambda it: it["told"].pop(), "missing: [('told', 2)]"),
                       (lambda it: it["outcome"].pop(), "missing: [('outcome', 2)]"),
                       (lambda it: it["outcome"][0].update(words=["haze"]), "not as it was kept: ('outcome', 1)"),
                       (lambda it: it["gap"][0].update(reason="x"), "not as it was kept: ('gap', 0)"),
                       (lambda it: it["clock_mark"].clear(), "missing: [('clock', 0)]"),
                       (lambda it: it["milestone"].clear(), "not as it was kept: ('milestones', 0)"),
                       (lambda it: it["meter_reading"].clear(), "not as it was kept: ('meter', 0)"),
                       (lambda it: it.update(source=None), "not as it was kept: ('source', 0)"),
                       (lambda it: it["links"].pop(3), "the chain does not hold")):
        wrong = json.loads(json.dumps(kept))
        harm(wrong)
        (folder / "firing.json").write_text(json.dumps(wrong))
        assert told in check(folder).stderr


def test_the_example_of_the_first_format_is_taken_in(said, box):
    other = box("other")
    assert said("import", EXAMPLE, data=other.folder)[0] == 0
    assert json.loads(said("verify", "--json", data=other.folder)[1])["whole"] is True
