from __future__ import annotations

import random
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
import sqlite_utils
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from daemon.store import bin, firing_list, firings, kilns, notes, outcomes, pieces, plans
from daemon.store.database import create_database, insert, transaction
from daemon.store.finding import search
from daemon.store.finding.search import CLOSE, OPEN, Kind, Wanted
from daemon.store.schema.migrations import MIGRATIONS

NOW = datetime(2026, 3, 4, 1, 0, tzinfo=UTC)
PLAN = ('title = "Full fuse"\nunit = "C"\n\n[[step]]\nrate = 220\nto = 670\nhold_min = 30\npurpose = "squeeze"\n'
        'tell = "Look at the rim"\n')


def _piece(db, name="Bowl", **others):
    return pieces.add_piece(db, **{"name": name, "glass": "90", "thickness_mm": 6.0, "now_utc": NOW, **others})


def _firing(db, title="First", plan_id=None, piece_ids=(), *, day=0):
    kiln = kilns.kiln_id(db, "Kiln")
    number = firings.open_firing(
        db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "p", "K"), title=title, opened_by="maker",
        started_utc=NOW + timedelta(days=day), boot_id="b", clock_s=0.0, plan_id=plan_id, piece_ids=list(piece_ids))
    firings.end_firing(db, number, 100.0, NOW, "maker")
    return number


def _said(db, number, note="", words=("haze",), piece=None, place=""):
    return outcomes.add_outcome(
        db, firing_id=number, piece_id=piece, words=words, place=place, note=note, now_utc=NOW)


def _numbers(db, typed, kind):
    return [one.number for one in search.found(db, Wanted(typed), kind, 50)]


def _listed(db, typed):
    return [one.firing.firing_id for one in firing_list.matching(db, text=typed)]


def test_each_place_where_something_is_written_is_found(db):
    piece = _piece(db, "River dish", layers="amber on white", note="slips a little", separator="kiln paper")
    plan = plans.add_plan(db, PLAN, NOW)
    number = _firing(db, "Monday night", plan, [piece])
    note = notes.add_note(db, number, "Vent open by a finger.", NOW)
    said = _said(db, number, "only at the foot", ["drawn-in edges"], place="door side")
    for typed, kind, row in (
            ("river", Kind.PIECE, piece), ("amber", Kind.PIECE, piece), ("slips", Kind.PIECE, piece),
            ("paper", Kind.PIECE, piece), ("full fuse", Kind.PLAN, plan), ("squeeze", Kind.PLAN, plan),
            ("rim", Kind.PLAN, plan), ("monday", Kind.FIRING, number), ("finger", Kind.NOTE, note),
            ("foot", Kind.OUTCOME, said), ("drawn-in", Kind.OUTCOME, said), ("door", Kind.OUTCOME, said)):
        assert {one: _numbers(db, typed, one) for one in Kind} == {
            one: [row] if one is kind else [] for one in Kind}, typed
        assert _listed(db, typed) == [number], typed
    assert _numbers(db, "rate", Kind.PLAN) == []  # the key of a step is no word of its maker


def test_a_firing_is_found_by_words_that_stand_in_different_places(db):
    both = _firing(db, "First", piece_ids=[_piece(db, "Bowl")])
    notes.add_note(db, both, "a white skim", NOW)
    _firing(db, "Second", piece_ids=[_piece(db, "Bowl two")])
    assert _listed(db, "bowl skim") == [both]
    assert _listed(db, "bowl skim tiles") == []


@pytest.mark.parametrize(("typed", "written"), [
    ("muschel", "Große Muschelschale"), ("GROSSE", "grosse Schale"), ("creme", "crème brûlée"), ("CRÈME", "creme"),
    ("ca", "cafe"), ("é", "Émail"), ("стекло", "Цветное стекло"), ("日", "青い日の皿"), ("皿", "青い日の皿"),
    ("ガラ", "色ガラス"), ("แก้ว", "จานแก้ว"), ("half-inch", "a half inch rim"), ("28", "the 28 cm mould"),
    ('28"', "the 28 cm mould"), ("½", "½ hour"), ('"', 'he said "hot"'), ("*", "two * stars"),
    ("AND", "sand and snow"),
    ("NOT", "nothing yet"), ("NEAR(", "near the door"), ("a*b", "a b"), ("words:x", "words x"), ("-", "hot - cold"),
    ("100%", "100 percent"), ("%", "50 % amber"), ("_", "a_b"), ("(", "thin (3 mm)"), ("☂", "☂ rain"), ("i", "Ink"),
])
def test_what_is_typed_is_text_and_begins_a_word(db, typed, written):
    number = _piece(db, written)
    _piece(db, "Other")
    assert _numbers(db, typed, Kind.PIECE) == [number]
    assert [one.piece_id for one in pieces.matching(db, typed, 9)] == [number]


@pytest.mark.parametrize("typed", ["owl", "bowls", "bo_l", "b%l", "'", "bowl OR other", "bowl NOT other"])
def test_what_is_not_written_is_not_found(db, typed):
    _piece(db, "Bowl")
    _piece(db, "Other")
    assert _numbers(db, typed, Kind.PIECE) == []
    assert pieces.matching(db, typed, 9) == []


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.one_of(st.text(max_size=30), st.text('"*^:(){}-+ANDORT ~\x00%_\\;\'', max_size=12)))
def test_nothing_that_is_typed_raises(db, typed):
    if not pieces.pieces(db):
        _firing(db, "First", plans.add_plan(db, PLAN, NOW), [_piece(db)])
    for kind in Kind:
        search.found(db, Wanted(typed), kind, 5)
    firing_list.matching(db, text=typed)
    pieces.matching(db, typed, 5)


def test_a_great_many_words_are_cut_short_and_a_long_one_is_taken(db):
    number = _piece(db, " ".join(f"w{n}" for n in range(200)))
    assert _numbers(db, " ".join(f"w{n}" for n in range(200)), Kind.PIECE) == [number]
    assert _numbers(db, "w" * 5000, Kind.PIECE) == []


def test_the_words_that_were_found_are_marked(db):
    _piece(db, "Bowl", note=" ".join(f"before{n}" for n in range(80)) + " a thin haze here")
    (one,) = search.found(db, Wanted("haz thin"), Kind.PIECE, 9)
    assert f"a {OPEN}thin{CLOSE} {OPEN}haze{CLOSE} here" in one.words
    assert len(one.words) < 400
    assert ("haze", True) in search.plain(one.words)
    assert (" ", False) in search.plain(one.words)


def test_a_word_of_a_script_without_spaces_is_marked_and_cut(db):
    _piece(db, "青" * 300 + "皿" + "い" * 300)
    (one,) = search.found(db, Wanted("皿"), Kind.PIECE, 9)
    assert f"青{OPEN}皿{CLOSE}い" in one.words
    assert len(one.words) < 200


def test_what_was_deleted_is_not_found_until_it_is_taken_back(db):
    number = _firing(db, "Lost night")
    note, said = notes.add_note(db, number, "Lost words", NOW), _said(db, number, "Lost haze")
    bin.put_into_bin(db, number, NOW)
    assert [_numbers(db, "lost", kind) for kind in Kind] == [[], [], [], [], []]
    assert _listed(db, "lost") == []
    bin.take_back(db, number)
    assert [_numbers(db, "lost", kind) for kind in Kind] == [[number], [], [], [note], [said]]
    bin.put_into_bin(db, number, NOW)
    bin.empty(db, number, NOW, [])
    assert db.execute("SELECT count(*) FROM written WHERE written MATCH 'lost'").fetchone()[0] == 0
    assert search.is_whole(db)


def test_only_the_outcome_that_stands_and_the_latest_version_of_a_plan_are_found(db):
    number = _firing(db)
    _said(db, number, "milky")
    last = _said(db, number, "clear to the rim", ["clear"])
    assert _numbers(db, "milky", Kind.OUTCOME) == []
    assert _listed(db, "milky") == []
    assert _numbers(db, "clear", Kind.OUTCOME) == [last]
    plans.add_plan(db, PLAN, NOW)
    second = plans.add_plan(db, PLAN.replace("220", "200"), NOW)
    assert _numbers(db, "full", Kind.PLAN) == [second]
    plans.add_plan(db, PLAN.replace("Full fuse", "The rest"), NOW, only_for=number)
    assert _numbers(db, "rest", Kind.PLAN) == []


@pytest.mark.parametrize("seed", range(4))
def test_after_random_edits_the_index_is_what_is_written(db, seed):
    chance = random.Random(seed)
    words = ["haze", "crème", "bowl", "a 28\" mould", "日本", "", "one\ntwo", "* AND"]
    numbers, dishes = [_firing(db)], [_piece(db)]

    def text():
        return " ".join(chance.choices(words, k=chance.randrange(4)))

    deeds = [
        lambda: numbers.append(_firing(db, text(), piece_ids=chance.sample(dishes, 1))),
        lambda: dishes.append(_piece(db, text(), note=text(), layers=text())),
        lambda: pieces.change_piece(db, chance.choice(dishes), name=text(), glass="90", thickness_mm=3.0,
                                    layers=text(), note=text(), thinnest_mm=None, separator=text()),
        lambda: notes.add_note(db, chance.choice(numbers), text(), NOW),
        lambda: _said(db, chance.choice(numbers), text(), chance.sample(outcomes.WORDS, 2)),
        lambda: plans.add_plan(db, PLAN.replace("Look at", f"Look {chance.randrange(9)}"), NOW),
        lambda: plans.rename(db, "Full fuse", "Full fuse"),
        lambda: db.execute("UPDATE firing SET title = ? WHERE firing_id = ?", [text(), chance.choice(numbers)]),
        lambda: db.execute("DELETE FROM note WHERE note_id % 5 = 0"),
    ]
    for _ in range(120):
        chance.choice(deeds)()
    assert search.is_whole(db)
    db.execute("INSERT INTO written (written) VALUES ('integrity-check')")


def test_what_is_rolled_back_is_not_found(db):
    def fail():
        with transaction(db):
            _piece(db, "Never")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    assert _numbers(db, "never", Kind.PIECE) == []
    assert search.is_whole(db)


@pytest.mark.parametrize("harm", [
    "DELETE FROM written WHERE rowid % 5 = 1", "UPDATE written SET words = 'other' WHERE rowid % 5 = 1",
    "INSERT INTO written (rowid, words) VALUES (9999, 'stray')"])
def test_an_index_that_differs_is_noticed_and_made_again(db, harm):
    number = _piece(db, "Bowl")
    db.execute(harm)
    assert not search.is_whole(db)
    search.rebuild(db)
    assert search.is_whole(db)
    assert _numbers(db, "bowl", Kind.PIECE) == [number]
    assert _numbers(db, "stray", Kind.FIRING) == []


def test_an_older_file_gets_its_index_from_what_is_there(tmp_path):
    path = tmp_path / "lehrling.db"
    old = sqlite_utils.Database(path)
    MIGRATIONS.apply(old, stop_before="m_words_that_are_found")
    number = _firing(old, "First night", piece_ids=[_piece(old, "River dish")])
    for toml in (PLAN, "no plan at all ["):
        insert(old, "plan", {"title": "Full fuse", "version": len(toml), "toml": toml,
                             "created_utc": "2026-03-04T01:00:00Z"})
    notes.add_note(old, number, "Vent open.", NOW)
    _said(old, number, "milky", ["haze"])
    old.conn.commit()
    old.close()
    db = create_database(path)
    assert search.is_whole(db)
    assert _listed(db, "river vent milky haze first") == [number]
    assert plans.plan(db, 1).title == "Full fuse"
    assert db.execute("SELECT words FROM plan ORDER BY plan_id").fetchall() == [("squeeze\nLook at the rim",), ("",)]
    db.close()


def test_a_step_of_the_migration_that_fails_leaves_nothing(tmp_path, monkeypatch):
    import daemon.store.schema.migrations as steps

    path = tmp_path / "lehrling.db"
    old = sqlite_utils.Database(path)
    MIGRATIONS.apply(old, stop_before="m_words_that_are_found")
    old.close()
    monkeypatch.setattr(steps, "STATEMENTS", (*steps.STATEMENTS, "NO SUCH STATEMENT"))
    with pytest.raises(sqlite3.OperationalError):
        create_database(path)
    left = sqlite_utils.Database(path)
    assert "written" not in left.table_names()
    assert "words" not in left.table("plan").columns_dict
    left.close()
