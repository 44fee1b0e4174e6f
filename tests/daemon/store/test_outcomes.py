"""Outcomes, judgements, drying and photographs: kept as said, corrections as later rows."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.store import firing_list, judgements, outcomes, photographs, pieces

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture
def bowl(db):
    return pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6.0, thinnest_mm=4.5, separator="paper",
                            now_utc=NOW)


def test_an_outcome_of_a_whole_load_stands_beside_those_of_its_pieces(db, open_one, bowl):
    firing = open_one(piece_ids=[bowl])
    assert outcomes.of_load(db, firing) is None
    for words in (["haze"], ["as hoped"]):
        outcomes.add_outcome(db, firing_id=firing, piece_id=None, words=words, place="", note="", now_utc=NOW)
    outcomes.add_outcome(db, firing_id=firing, piece_id=bowl, words=["clear"], place="", note="", now_utc=NOW)
    assert outcomes.of_load(db, firing).words == ("as hoped",)
    assert list(outcomes.of_firing(db, firing)) == [bowl]
    found = {word: [row.firing.firing_id for row in firing_list.matching(db, outcome=word)]
             for word in ("haze", "as hoped", "clear")}
    assert found == {"haze": [], "as hoped": [firing], "clear": [firing]}


def test_the_latest_outcome_stands_and_the_earlier_one_stays_in_the_file(db, open_one, bowl):
    firing = open_one(piece_ids=[bowl])
    for words, place in ((["haze"], ""), (["crack", "bubbles"], "from the rim inwards")):
        outcomes.add_outcome(db, firing_id=firing, piece_id=bowl, words=words, place=place, note="", now_utc=NOW)
    standing = outcomes.of_firing(db, firing)[bowl]
    assert standing.words == ("crack", "bubbles")
    assert standing.place == "from the rim inwards"
    assert outcomes.of_piece(db, bowl) == {firing: standing}
    assert db.execute("SELECT count(*) FROM outcome").fetchone()[0] == 2


def test_a_word_that_is_not_fixed_is_refused(db, open_one, bowl):
    with pytest.raises(ValueError, match="'lovely' is no word for an outcome; known: as hoped, clear, haze"):
        outcomes.add_outcome(db, firing_id=open_one(), piece_id=bowl, words=["lovely"], place="", note="",
                             now_utc=NOW)


def test_a_piece_is_described_anew_and_its_drying_is_kept(db, bowl):
    pieces.set_drying(db, bowl, NOW, NOW + timedelta(hours=12))
    pieces.change_piece(db, bowl, name="Wide bowl", glass="96", thickness_mm=9, layers="three", note="",
                        thinnest_mm=None, separator="wash")
    found = pieces.piece(db, bowl)
    assert (found.name, found.thickness_mm, found.thinnest_mm, found.separator) == ("Wide bowl", 9.0, None, "wash")
    assert (found.drying_from_utc, found.dry_by_utc) == (NOW, NOW + timedelta(hours=12))


def test_the_latest_judgement_stands(db, open_one):
    firing = open_one()
    assert judgements.judgement(db, firing) is None
    for peak_c in (801.0, 799.5):
        judgements.add_judgement(db, firing, {"peak_c": peak_c, "verdict": []}, "0.1.0", NOW)
    found = judgements.judgement(db, firing)
    assert (found.told["peak_c"], found.version, found.wall_utc) == (799.5, "0.1.0", NOW)


def test_a_judgement_is_kept_as_plain_json_and_what_is_no_number_is_refused(db, open_one):
    firing = open_one()
    number = judgements.add_judgement(db, firing, {"title": "Schüssel", "peak_c": None}, "0.1.0", NOW)
    found = judgements.judgement(db, firing)
    assert (found.judgement_id, found.firing_id) == (number, firing)
    assert found.told == {"title": "Schüssel", "peak_c": None}
    assert "Schüssel" in db.execute("SELECT told FROM judgement").fetchone()[0]
    with pytest.raises(ValueError, match="not JSON compliant"):
        judgements.add_judgement(db, firing, {"peak_c": float("nan")}, "0.1.0", NOW)


def test_what_lay_in_a_firing_is_found_by_it(db, open_one, bowl):
    tray = pieces.add_piece(db, name="Tray", glass="96", thickness_mm=9.5, now_utc=NOW)
    firing = open_one(piece_ids=[tray, bowl])
    assert [p.name for p in pieces.of_firing(db, firing)] == ["Bowl", "Tray"]
    assert pieces.of_firing(db, firing + 1) == []
    assert pieces.piece(db, bowl).thinnest_mm == 4.5


def test_a_photograph_is_of_a_piece_or_of_a_firing(db, open_one, bowl):
    firing = open_one()
    of = {"moment": "before", "width": 4, "height": 3, "caption": "The rim", "now_utc": NOW}
    one = photographs.add_photograph(db, piece_id=bowl, firing_id=None, mark="ab" * 32, **of)
    two = photographs.add_photograph(db, piece_id=None, firing_id=firing, mark="cd" * 32, **of)
    assert [p.photograph_id for p in photographs.photographs(db, piece_id=bowl)] == [one]
    assert [p.photograph_id for p in photographs.photographs(db, firing_id=firing)] == [two]
    found = photographs.photograph(db, one)
    assert (found.moment, found.width, found.height, found.caption) == ("before", 4, 3, "The rim")
    assert (found.wall_utc, found.removed_utc) == (NOW, None)
    photographs.set_removed(db, one, NOW + timedelta(hours=1))
    assert photographs.photograph(db, one).removed_utc == NOW + timedelta(hours=1)
    assert photographs.photograph(db, 99) is None


def test_a_photograph_taken_out_of_sight_can_be_brought_back(db, bowl):
    number = photographs.add_photograph(db, piece_id=bowl, firing_id=None, moment="after", mark="ab" * 32, width=4,
                                        height=3, caption="", now_utc=NOW)
    photographs.set_removed(db, number, NOW)
    assert photographs.photographs(db, piece_id=bowl) == []
    photographs.set_removed(db, number, None)
    assert [p.photograph_id for p in photographs.photographs(db, piece_id=bowl)] == [number]
