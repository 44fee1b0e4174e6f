"""What the watches know of a kiln is stored when a firing begins, and is what it is judged by ever after."""

from contextlib import closing

import pytest

from daemon.firing.energy.known_kiln import KnownKiln
from daemon.firing.energy.thermal import Thermal
from daemon.firing.setup import Reads
from daemon.kiln.model_text import as_text
from daemon.lifecycle.learned_kiln import METHOD
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import bin, firings, kilns
from daemon.store.database import create_database
from daemon.store.wear import known_kilns, learned_kilns
from daemon.store.wear.learned_kilns import LearnedKiln
from tests.daemon.lifecycle.test_learned_kiln import MODEL, NOW

KNOWN = KnownKiln(Thermal(1 / 2600, 1 / 7000, 1 / 12_000, 1 / 25_000), 0.30, 2.0, 0.05)


def teach(studio, known):
    """Keep a learned kiln that tells the watches this."""
    with closing(create_database(studio.path)) as db:
        kiln_id = kilns.kiln_id(db, studio.config.kiln_name)
        model = as_text(MODEL._replace(for_watches=known))
        learned_kilns.put(db, kiln_id, LearnedKiln(kilns.probe_id(db, kiln_id, "hand", "K"), (), model, METHOD), NOW)


def setup_of_stored(studio):
    with closing(create_database(studio.path)) as db:
        row = firings.firing(db, studio.watch.live.row.firing_id)
        return known_setup(db, row, Reads())


def test_what_was_known_at_the_beginning_is_what_it_is_judged_by(studio, slump):
    teach(studio, KNOWN)
    studio.start_firing(plan_id=slump)
    studio.run(60)
    assert studio.watch.live.judge.setup.kiln == KNOWN
    teach(studio, KNOWN._replace(power_k_per_s=0.2))
    assert setup_of_stored(studio).kiln == KNOWN
    assert setup_of_stored(studio) == studio.watch.live.judge.setup


def test_a_restart_goes_on_with_it(studio, slump):
    teach(studio, KNOWN)
    studio.start_firing(plan_id=slump)
    studio.run(60)
    teach(studio, None)
    studio.kill()
    studio.start()
    assert studio.watch.live.judge.setup.kiln == KNOWN


@pytest.mark.parametrize("is_learned", [True, False])
def test_a_kiln_of_which_too_little_is_known_is_watched_as_before(studio, slump, is_learned):
    if is_learned:
        teach(studio, None)
    studio.start_firing(plan_id=slump)
    studio.run(60)
    teach(studio, KNOWN)
    assert studio.watch.live.judge.setup.kiln is None
    assert setup_of_stored(studio).kiln is None


def test_it_goes_with_its_firing(studio, slump):
    teach(studio, KNOWN)
    studio.start_firing(plan_id=slump)
    studio.run(60)
    number = studio.watch.live.row.firing_id
    with closing(create_database(studio.path)) as db:
        firings.end_firing(db, number, 60.0, NOW, "maker")
        bin.put_into_bin(db, number, NOW)
        assert known_kilns.told(db, number) is not None
        bin.empty(db, number, NOW, [])
        assert known_kilns.told(db, number) is None
