"""A start ends only the firing that whoever asks has seen, and one form starts one firing."""

from __future__ import annotations

from datetime import timedelta

from daemon.firing.events import Part
from daemon.firing.setup import Reads
from daemon.lifecycle.open_firing import Place
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import firings, found_parts
from daemon.store.database import open_database


def test_a_start_that_saw_no_firing_does_not_end_one_that_runs(studio):
    running = studio.start_firing(title="Deep dish")
    told = studio.ask("start", title="Bowl")
    assert told == ("refused: firing: “Deep dish” runs now; it was not ended. Load the page again. "
                    "End that one first if you mean to start another.")
    assert studio.ask("start", title="Bowl", saw_firing_id=running.firing_id + 1).startswith("refused: ")
    assert studio.firing() == running


def test_a_start_that_saw_the_firing_ends_it(studio):
    running = studio.start_firing(title="Deep dish")
    assert studio.ask("start", title="Bowl", saw_firing_id=running.firing_id) == "done"
    assert studio.firing().title == "Bowl"


def test_six_requests_of_one_form_make_one_firing(studio):
    first = studio.ask("start", title="Bowl", token="t-1")
    assert first == "done"
    begun = studio.firing()
    assert [studio.ask("start", title="Bowl", token="t-1") for _ in range(5)] == ["done"] * 5
    assert studio.firing() == begun
    assert begun.firing_id == 1


def _shown(studio, slump, number):
    """Keep ``number`` ended firings of this kiln whose anneal read 508 °C where the plan has 516 °C."""
    page, began = open_database(studio.path), studio.clock.utc() - timedelta(days=number)
    kiln_id, probe_id = Place(studio.config.kiln_name, "hand").ids(page)
    for day in range(number):
        started = began + timedelta(days=day)
        past = firings.open_firing(page, kiln_id=kiln_id, probe_id=probe_id, title="Bowl", opened_by="maker",
                                   started_utc=started, boot_id="boot-0", clock_s=0.0, plan_id=slump, glass="90",
                                   thickness_mm=6.0, faces=1)
        found_parts.replace_parts(page, past, [Part(3, 2, "hold", 6700.0, 8500.0, 0.1, 508.0)])
        firings.end_firing(page, past, 30_000.0, started + timedelta(hours=9), "maker")
    page.close()


def _in_file(studio):
    return studio.see(lambda db: known_setup(db, studio.firing(), Reads("C")))


def test_a_firing_begins_with_what_the_earlier_ones_in_its_kiln_have_shown_as_a_restart_does(studio, slump):
    _shown(studio, slump, 3)
    studio.start_firing(plan_id=slump)
    begun = studio.watch.live.judge.setup
    assert list(begun.usual_by_band.values()) == [-8.0]
    assert begun == _in_file(studio)
    studio.kill()
    studio.start()
    assert studio.watch.live.judge.setup == begun


def test_the_firing_that_a_start_ends_is_known_to_the_one_that_it_begins(studio, slump):
    _shown(studio, slump, 2)
    running = studio.start_firing(plan_id=slump)
    page = open_database(studio.path)
    found_parts.replace_parts(page, running.firing_id, [Part(3, 2, "hold", 6700.0, 8500.0, 0.1, 508.0)])
    page.close()
    studio.watch.live.judge.stopped = True  # it keeps these parts, and no judgement that it was cut short
    assert studio.ask("start", title="Bowl", plan_id=slump, piece_ids=[], saw_firing_id=running.firing_id) == "done"
    assert studio.watch.live.judge.setup == _in_file(studio)
    assert list(studio.watch.live.judge.setup.usual_by_band.values()) == [-8.0]
