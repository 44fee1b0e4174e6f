"""Out as plain files and back: nothing is lost, nothing comes twice, and a second export is the same."""

from __future__ import annotations

import json
import os
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.firing.events import Sample
from daemon.store import bin, firings, notes, outcomes, pieces, plans
from daemon.store.chain import source_file
from daemon.store.chain.verify import verify
from daemon.store.firing_list import matching
from daemon.store.safety import record_mark

from .conftest import MARK, NOW, PICTURE, PLAN

STEPS = st.integers(-50 * 128, 1300 * 128)


@st.composite
def traces(draw):
    """Draw readings at rising seconds, some of them faults."""
    found = []
    for t_s in sorted(draw(st.sets(st.integers(0, 4000), max_size=12))):
        if draw(st.booleans()):
            low, mid, high = sorted(draw(STEPS) / 128 for _ in range(3))
            found.append(Sample(float(t_s), mid, draw(st.sampled_from([None, "range"])), low, high))
        else:
            found.append(Sample(float(t_s), None, draw(st.sampled_from([None, "open", "short", "silent"]))))
    return found


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)


def files(folder):
    """Return the files of an archive but its head."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*")
            if path.is_file() and path.name != "archive.json"}


@settings(max_examples=15)
@given(fired=st.lists(st.tuples(TEXTS, traces(), TEXTS, st.binary(max_size=40)), min_size=1, max_size=3),
       as_zip=st.booleans())
def test_a_record_comes_back_from_its_archive_with_nothing_lost(box_in, fired, as_zip):
    with TemporaryDirectory() as name:
        scratch = Path(name)
        one, other = box_in(scratch / "one"), box_in(scratch / "other")
        for number, (title, samples, note, source) in enumerate(fired):
            one.fire(title, f"boot-{number}", samples=samples, note=note, source=source)
        one.changed_part()
        one.export(scratch / ("a.zip" if as_zip else "a"))
        done = other.take(scratch / ("a.zip" if as_zip else "a"))
        assert list(done.numbers) == list(done.numbers.values()) == [n + 1 for n in range(len(fired))]
        one.export(scratch / "first")
        other.export(scratch / "second")
        assert files(scratch / "first") == files(scratch / "second")
        with other.db() as db:
            assert [seen.state for seen in verify(db)] == ["whole"] * len(fired)
            assert [source_file.get(db, number + 1) for number in range(len(fired))] == [
                (f"{title}.csv", source) for title, _, _, source in fired]


def test_what_no_archive_carries_is_all_that_differs(box, tmp_path):
    one, other = box("one"), box("other")
    one.fire()
    one.changed_part()
    one.export(tmp_path / "a")
    other.take(tmp_path / "a")
    (was, pictures), (now, pictures_now) = one.dump(), other.dump()
    for rows in (was, now):
        # Those of pieces are taken in first, so they have other numbers.
        rows["photograph"] = sorted((row[1:] for row in rows["photograph"]), key=repr)
        del rows["_sqlite_migrations"]
    assert {table for table in was if was[table] != now[table]} == set()
    assert pictures == pictures_now


def test_two_boxes_are_merged_under_new_numbers_and_nothing_comes_twice(box, archive, tmp_path):
    other = box("other")
    assert other.fire("Tray", "boot-c") == 1
    with other.db() as db:
        marks = {record_mark.head(db, 1)}
    done = other.take(archive)
    assert done.numbers == {1: 2, 2: 3}
    again = other.take(archive)
    assert (again.numbers, again.here, again.differs) == ({}, {1: 2, 2: 3}, [])
    with other.db() as db:
        assert [listed.firing.title for listed in matching(db, limit=9)] == ["Dish", "Bowl", "Tray"]
        assert [seen.state for seen in verify(db)] == ["whole"] * 3
        assert db.execute("SELECT count(*) FROM kiln").fetchone()[0] == 1
        assert db.execute("SELECT count(*) FROM plan").fetchone()[0] == 1
        assert db.execute("SELECT count(*) FROM piece").fetchone()[0] == 3
        assert db.execute("SELECT count(*) FROM part_change").fetchone()[0] == 1
        assert db.execute("SELECT count(*) FROM calibration").fetchone()[0] == 1
        assert marks < {record_mark.head(db, number) for number in (1, 2, 3)}
    other.export(tmp_path / "merged")
    third = box("third")
    assert third.take(tmp_path / "merged").numbers == {1: 1, 2: 2, 3: 3}


def test_a_firing_that_went_on_elsewhere_stays_as_it_is_here(box, archive, tmp_path):
    other = box("other")
    other.take(archive)
    with other.db() as db:
        notes.add_note(db, 1, "Only here.", NOW)
    assert other.take(archive).differs == [], "the archive has an earlier state"
    other.export(tmp_path / "later")
    third = box("third")
    third.take(archive)
    before = third.dump()
    assert third.take(tmp_path / "later").differs == [1]
    assert third.dump() == before


def test_another_plan_of_the_same_title_gets_a_version_of_its_own(box, archive):
    other = box("other")
    with other.db() as db:
        plans.add_plan(db, PLAN.replace("640", "650"), NOW)
    other.take(archive)
    with other.db() as db:
        assert [(plan.version, plan.toml) for plan in plans.versions(db, "Slump")] == [
            (2, PLAN), (1, PLAN.replace("640", "650"))]
        assert firings.firing(db, 1).plan_id == 2


def test_a_plan_made_on_the_way_stays_with_its_firing(box, tmp_path):
    one, other = box("one"), box("other")
    other.fire("Tray", "boot-c")
    number = one.fire()
    with one.db() as db:
        plan = plans.add_plan(db, PLAN.replace("Slump", "The rest"), NOW, only_for=number)
        firings.name_firing(db, number, {"plan_id": plan})
    one.export(tmp_path / "a")
    other.take(tmp_path / "a")
    with other.db() as db:
        assert plans.plan(db, firings.firing(db, 2).plan_id).only_for == 2
        assert [plan.title for plan in plans.plans(db)] == ["Slump"]


def test_one_piece_is_exported_with_its_firings_alone(box, tmp_path):
    one, other = box("one"), box("other")
    one.fire()
    number = one.fire("Dish", "boot-b")
    with one.db() as db:
        second = pieces.add_piece(db, name="Spare", glass="90", thickness_mm=3.0, now_utc=NOW)
        firings.name_firing(db, number, {}, [2, second])
    done = one.export(tmp_path / "a", piece_id=2)
    assert (done.firings, done.pieces) == (1, 1)
    other.take(tmp_path / "a")
    with other.db() as db:
        assert [piece.name for piece in pieces.pieces(db)] == ["Piece of Dish"]
        assert [firing.title for firing in firings.of_piece(db, 1)] == ["Dish"]
        assert db.execute("SELECT count(*) FROM outcome").fetchone()[0] == 2, "of the piece and of the whole load"


def test_one_piece_brings_the_outcomes_of_its_firings_and_their_chain_holds(box, tmp_path):
    one, other = box("one"), box("other")
    number = one.fire()
    with one.db() as db:
        second = pieces.add_piece(db, name="Spare", glass="90", thickness_mm=3.0, now_utc=NOW + timedelta(hours=1))
        outcomes.add_outcome(db, firing_id=number, piece_id=second, words=["haze"], place="", note="", now_utc=NOW)
        firings.name_firing(db, number, {}, [1, second])
        one.photograph(db, piece_id=second)
    one.export(tmp_path / "a", piece_id=1)
    other.take(tmp_path / "a")
    with other.db() as db:
        assert {piece.name for piece in pieces.pieces(db)} == {"Piece of Bowl", "Spare"}
        assert db.execute("SELECT count(*) FROM photograph WHERE piece_id = 2").fetchone()[0] == 0
        assert [seen.state for seen in verify(db)] == ["whole"]


def test_firings_that_run_and_deleted_ones_are_left_out(box, tmp_path):
    one = box("one")
    one.fire()
    deleted = one.fire("Test", "boot-b")
    with one.db() as db:
        bin.put_into_bin(db, deleted, NOW)
        firings.open_firing(db, kiln_id=1, probe_id=1, title="Now", opened_by="maker", boot_id="c", clock_s=0.0,
                            started_utc=NOW + timedelta(days=1))
    done = one.export(tmp_path / "a")
    assert (done.firings, done.running, done.deleted) == (1, 1, 1)
    other = box("other")
    assert other.take(tmp_path / "a").numbers == {1: 1}


def test_a_firing_without_a_chain_is_chained_when_it_is_taken_in(box, tmp_path):
    one, other = box("one"), box("other")
    one.fire()
    with one.db() as db:
        db.execute("DELETE FROM link")
    one.export(tmp_path / "a")
    other.take(tmp_path / "a")
    with other.db() as db:
        (seen,) = verify(db)
    assert (seen.state, seen.chained_utc) == ("whole", NOW)


def test_a_lost_photograph_is_named_and_the_rest_exported(box, tmp_path):
    one = box("one")
    one.fire()
    (one.folder / "photographs" / f"{MARK}-whole.jpg").unlink()
    assert one.export(tmp_path / "a").missing == [MARK]
    other = box("other")
    other.take(tmp_path / "a")
    assert other.dump()[1] == {}


def test_a_photograph_that_is_here_is_not_written_over(box, archive):
    other = box("other")
    (other.folder / "photographs").mkdir()
    (other.folder / "photographs" / f"{MARK}-small.jpg").write_bytes(b"here")
    other.take(archive)
    assert other.dump()[1] == {
        f"{MARK}-whole.jpg": PICTURE, f"{MARK}-small.jpg": b"here", f"{MARK}-thumb.jpg": b"\xff\xd8t"}


def test_an_archive_is_made_only_where_nothing_is(box, tmp_path):
    one = box("one")
    one.fire()
    (tmp_path / "a").write_text("mine")
    with pytest.raises(BadInput, match="is there already"):
        one.export(tmp_path / "a")
    assert (tmp_path / "a").read_text() == "mine"
    with pytest.raises(BadInput, match="there is no folder"):
        one.export(tmp_path / "no" / "a")


def test_where_an_export_fails_nothing_of_it_stays(box, tmp_path):
    one = box("one")
    one.fire()

    def pages(numbers):
        raise OSError(28, "No space left on device")

    for name in ("a", "a.zip"):
        with pytest.raises(OSError, match="No space"):
            one.export(tmp_path / name, pages=pages)
    assert sorted(os.listdir(tmp_path)) == ["one"]


def test_the_readings_of_an_archive_can_be_replayed_and_its_head_names_each_file(archive):
    from daemon.firing.trace.csv_trace import read_trace

    csv = (archive / "firings" / "000001" / "readings.csv").read_text().splitlines()
    samples = read_trace(csv, "readings.csv").samples
    assert (samples[0].t_s, samples[0].temp_c, samples[-1].fault) == (0.0, 20.0, "range")
    listed = json.loads((archive / "archive.json").read_text())["files"]
    assert listed.keys() == files(archive).keys()
