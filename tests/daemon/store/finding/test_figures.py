from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.store import bin, firings, judgements, kilns, outcomes, pieces, plans
from daemon.store.finding import figures

NOW = datetime(2026, 3, 4, 1, 0, tzinfo=UTC)


def _plan(db, title, to=650):
    return plans.add_plan(db, f'title = "{title}"\nunit = "C"\n[[step]]\nrate = 200\nto = {to}\n', NOW)


def _piece(db, glass="90"):
    return pieces.add_piece(db, name="Tile", glass=glass, thickness_mm=6.0, now_utc=NOW)


@pytest.fixture
def fire(db):
    """Return a function that keeps a firing, an hour after the one before; ``said`` are (piece or None, word)."""
    count = iter(range(1000))

    def keep(piece_ids=(), said=(), plan_id=None, *, ended=True, kiln="Kiln"):
        kiln_id = kilns.kiln_id(db, kiln)
        number = firings.open_firing(
            db, kiln_id=kiln_id, probe_id=kilns.probe_id(db, kiln_id, "p", "K"), title="A firing", opened_by="maker",
            started_utc=NOW + timedelta(hours=next(count)), boot_id="b", clock_s=0.0, plan_id=plan_id,
            piece_ids=list(piece_ids))
        if ended:
            firings.end_firing(db, number, 100.0, NOW, "maker")
        for piece, word in said:
            outcomes.add_outcome(db, firing_id=number, piece_id=piece, words=[word], place="", note="", now_utc=NOW)
        return number

    return keep


def _haze(db):
    return {one.glass: ([(of.firing_id, of.cleared) for of in one.refired], one.silent)
            for one in figures.haze_by_glass(db, 1)}


def test_the_plan_fired_most_comes_first_whatever_its_version(db, fire):
    first, second, other = _plan(db, "Slump"), _plan(db, "Slump", 660), _plan(db, "Fuse")
    for plan_id in (other, other, first, second, second):
        fire(plan_id=plan_id)
    deleted, running = fire(plan_id=other), fire(plan_id=other, ended=False)
    bin.put_into_bin(db, deleted, NOW)
    fire(plan_id=other, kiln="Another kiln")
    found = figures.fired(db, 1)
    assert [(one.title, one.firings, sorted(one.plan_ids)) for one in found] == [
        ("Slump", 3, [first, second]), ("Fuse", 2, [other])]
    assert running not in [one.firing_id for one in figures.latest_by(db, 1, [other], 9)]
    assert [one.firing_id for one in figures.latest_by(db, 1, [first, other], 2)] == [3, 2]


def test_a_firing_cleared_the_haze_where_each_of_its_hazy_pieces_came_out_clear(db, fire):
    one, two, clean = _piece(db), _piece(db), _piece(db)
    fire([one, two, clean], [(one, "haze"), (two, "haze"), (clean, "clear")])
    half = fire([one, two, clean], [(one, "clear"), (two, "haze"), (clean, "haze")])
    whole = fire([two, clean], [(None, "clear")])
    assert _haze(db) == {"90": ([(half, False), (whole, True)], 0)}


def test_the_latest_outcome_of_a_piece_counts_and_its_own_comes_before_the_load_s(db, fire):
    tile = _piece(db)
    fire([tile], [(None, "haze")])
    again = fire([tile], [(tile, "haze"), (tile, "clear"), (None, "haze")])
    assert _haze(db) == {"90": ([(again, True)], 0)}


def test_another_word_is_counted_as_silent_and_a_deleted_firing_not_at_all(db, fire):
    tile = _piece(db)
    fire([tile], [(tile, "haze")])
    fire([tile], [(tile, "as hoped")])
    fire([tile], [(tile, "haze")])
    bin.put_into_bin(db, fire([tile], [(tile, "clear")]), NOW)
    assert _haze(db) == {"90": ([], 1)}


def test_the_glass_of_most_hazy_pieces_comes_first_and_one_without_haze_is_not_there(db, fire):
    for glass, word in (("96", "haze"), ("90", "haze"), ("90", "haze"), ("float", "clear")):
        tile = _piece(db, glass)
        fire([tile], [(tile, word)])
    assert list(_haze(db)) == ["90", "96"]


def test_the_latest_judgement_counts_and_what_is_not_known_is_none(db, fire):
    judged, lost, never = fire(), fire(), fire()
    for peak_c in (800.0, 810.0):
        judgements.add_judgement(db, judged, {"peak_c": peak_c, "glass": {"time_above_s": {"760": 60.0}}}, "0", NOW)
    judgements.add_judgement(db, lost, {"peak_c": None, "glass": None}, "0", NOW)
    found = figures.figures_of(db, [judged, lost, never])
    assert (found[judged].peak_c, dict(found[judged].above_s)) == (810.0, {"760": 60.0})
    assert (found[lost].peak_c, dict(found[lost].above_s)) == (None, {})
    assert never not in found
