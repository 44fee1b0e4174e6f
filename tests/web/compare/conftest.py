"""Firings of an invented studio that came out differently."""

from __future__ import annotations

import pytest

from daemon.store import notes, outcomes
from tests.web.conftest import PLAN_TOML

SLOWER = PLAN_TOML.replace('rate = "free"\nto = 800', "rate = 110\nto = 788")
"""The plan of the studio with a slower climb to a lower top: longer in the haze range."""


@pytest.fixture
def hazy(studio):
    """Return the ids of a firing that came out clear and one that came out hazy, by two versions of a plan."""
    clear = studio.fill(until_s=45_000.0, ended=True, title="Reed dish", separator="shelf wash, fresh")
    haze = studio.fill(until_s=45_000.0, ended=True, title="Dune tiles", plan_toml=SLOWER, name="Dune tiles",
                       layers="3 mm clear under 3 mm sand", separator="fibre paper, used twice")
    for number, word in ((clear, "clear"), (haze, "haze")):
        studio.store(lambda db, number=number, word=word: outcomes.add_outcome(
            db, firing_id=number, piece_id=number, words=[word], place="", note=f"Seen under a lamp: {word}.",
            now_utc=studio.clock.wall))
    studio.store(lambda db: notes.add_note(db, haze, "Edges <ground>, washed once.", studio.clock.wall))
    return clear, haze
