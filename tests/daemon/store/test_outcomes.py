"""Outcomes, judgements, drying and photographs: kept as said, corrections as later rows."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.store import judgements, outcomes, photographs, pieces

NOW = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture
def bowl(db):
    return pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6.0, thinnest_mm=4.5, separator="paper",
                            now_utc=NOW)


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
    with pytest.raises(ValueError, match="'lovely' is no word for an outcome; known: clear, haze"):
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


def test_a_photograph_taken_out_of_sight_can_be_brought_back(db, bowl):
    number = photographs.add_photograph(db, piece_id=bowl, firing_id=None, moment="after", mark="ab" * 32, width=4,
                                        height=3, caption="", now_utc=NOW)
    photographs.set_removed(db, number, NOW)
    assert photographs.photographs(db, piece_id=bowl) == []
    photographs.set_removed(db, number, None)
    assert [p.photograph_id for p in photographs.photographs(db, piece_id=bowl)] == [number]
