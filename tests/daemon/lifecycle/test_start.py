"""A start ends only the firing that whoever asks has seen, and one form starts one firing."""

from __future__ import annotations


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
