"""The invented studio says that it is invented and is kept as real firings are."""

from __future__ import annotations

from pathlib import Path

import pytest

from daemon.firing.events import Rank
from daemon.firing.plan.plan import parse_plan
from daemon.store import alerts, firing_list, firings, kilns, notes, outcomes, pieces, plans, readings
from daemon.store.database import open_database
from daemon.store.wear import calibrations
from simulations.studio.seed import FULL_FUSE, KILN_NAME, PAST, PIECES, SLUMP

EXAMPLES = Path(__file__).parents[3] / "examples" / "plans"


@pytest.fixture(scope="module")
def studio(tmp_path_factory, seeded_database):
    path = tmp_path_factory.mktemp("studio") / "lehrling.db"
    path.write_bytes(seeded_database)
    db = open_database(path)
    yield db
    db.close()


def test_there_are_pieces_and_some_have_been_fired(studio):
    assert {piece.name for piece in pieces.pieces(studio)} == set(PIECES)
    bowl = next(piece for piece in pieces.pieces(studio) if piece.name == "Tide-pool bowl")
    assert [f.title for f in firings.of_piece(studio, bowl.piece_id)] == [
        "Tide-pool bowl, full fuse", "Tide-pool bowl, slump",
    ]


def test_all_of_it_is_marked_as_invented(studio):
    assert all("Invented" in piece.note for piece in pieces.pieces(studio))
    for listed in firing_list.matching(studio):
        assert listed.firing.invented
        assert all("Invented" in note.text for note in notes.notes(studio, listed.firing.firing_id))


def test_the_firings_came_out_as_said_one_with_haze_that_cleared_and_the_last_is_still_asked(studio):
    came = {row.firing.title: {word for one in outcomes.of_firing(studio, row.firing.firing_id).values()
                               for word in one.words} for row in firing_list.matching(studio)}
    assert came == {"Tide-pool bowl, full fuse": {"as hoped", "clear"}, "Rain tiles, full fuse": {"haze"},
                    "Rain tiles, fired again": {"clear"}, "Tide-pool bowl, slump": set(),
                    "Shelf primer dried": set()}
    said = [one for row in firing_list.matching(studio)
            for one in outcomes.of_firing(studio, row.firing.firing_id).values()]
    assert all("Invented" in one.note for one in said)


def test_the_thermocouple_has_been_compared_and_that_is_marked_as_invented(studio):
    found = calibrations.of_present(studio, kilns.find(studio, KILN_NAME), None)
    assert [one.method for one in found] == ["ice", "boiling"]
    assert all(one.said.endswith("invented") and abs(one.off_k) < 1.0 for one in found)


def test_past_firings_are_whole_ended_and_in_the_past(studio, seeded_utc):
    listed = firing_list.matching(studio)
    assert len(listed) == len(PAST)
    for row in listed:
        is_empty = row.firing.title == "Shelf primer dried"
        assert row.firing.ended_s == row.duration_s > (6 if is_empty else 8) * 3600
        assert row.firing.ended_utc < seeded_utc
        assert row.peak_c > (530 if is_empty else 640)
        found = readings.samples(studio, row.firing.firing_id)
        assert found[-1].t_s == row.firing.ended_s
        assert found[-1].temp_c < 42


def test_the_too_fast_cooling_woke_and_the_others_did_not(studio):
    woke = {
        row.firing.title: any(a.rank is Rank.WAKE for a in alerts.alerts(studio, row.firing.firing_id))
        for row in firing_list.matching(studio)
    }
    assert woke == {
        "Tide-pool bowl, full fuse": False, "Rain tiles, full fuse": True, "Rain tiles, fired again": False,
        "Tide-pool bowl, slump": False, "Shelf primer dried": False,
    }


@pytest.mark.parametrize(("text", "file"), [(FULL_FUSE, "full-fuse-6mm.toml"), (SLUMP, "slump-6mm.toml")])
def test_its_plans_are_those_of_the_examples(text, file):
    assert parse_plan(text, "seed") == parse_plan((EXAMPLES / file).read_text(encoding="utf-8"), file)


def test_a_plan_is_kept_once(studio):
    assert sorted(plan.title for plan in plans.plans(studio)) == [
        "Full fuse against haze, 810 °C", "Full fuse, two layers, 6 mm", "Shelf primer, empty kiln",
        "Slump, 6 mm, shallow mould",
    ]
