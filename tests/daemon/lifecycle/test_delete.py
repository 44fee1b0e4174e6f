"""A firing that is empty or was a test goes into the bin and comes back; one that runs never."""

from __future__ import annotations

from datetime import timedelta

import pytest

from daemon.lifecycle.delete import COLD_C, SHORT_S, is_empty
from daemon.store import bin, firing_list


def test_an_empty_firing_is_deleted_listed_in_the_bin_and_taken_back(studio):
    number = studio.start_firing(title="By mistake").firing_id
    studio.run(60)
    assert studio.ask("end", firing_id=number) == "done"
    assert studio.ask("delete", firing_id=number) == "done"
    assert studio.see(firing_list.matching) == []
    assert [row.title for row in studio.see(bin.in_bin)] == ["By mistake"]
    assert studio.ask("take-back", firing_id=number) == "done"
    assert studio.see(bin.in_bin) == []
    assert studio.firing().title == "By mistake"


def test_a_firing_that_runs_is_never_deleted(studio):
    number = studio.start_firing(title="Deep dish").firing_id
    assert studio.ask("delete", firing_id=number, is_test=True) == (
        "refused: firing: “Deep dish” runs. A firing that runs is never deleted. End it first.")
    assert studio.firing().binned_utc is None


def test_a_real_firing_is_deleted_only_as_a_test(studio):
    studio.says = lambda t_s: 400.0
    number = studio.start_firing(title="Deep dish").firing_id
    studio.run(SHORT_S + 60)
    studio.ask("end", firing_id=number)
    assert studio.ask("delete", firing_id=number).startswith("refused: firing: “Deep dish” was a real firing.")
    assert studio.ask("delete", firing_id=number, is_test=True) == "done"


@pytest.mark.parametrize("kind", ["delete", "take-back"])
def test_what_is_not_there_is_refused(studio, kind):
    assert studio.ask(kind, firing_id=7).startswith("refused: firing: ")
    assert studio.ask(kind).startswith(f"refused: {kind} firing_id: missing.")


@pytest.mark.parametrize(("highest_c", "ended_s", "empty"), [
    (COLD_C - 1, 80_000, True), (700.0, SHORT_S - 1, True), (None, 80_000, True), (700.0, 80_000, False)])
def test_what_counts_as_empty(studio, highest_c, ended_s, empty):
    from dataclasses import replace

    row = replace(studio.start_firing(), ended_s=ended_s)
    assert is_empty(row, highest_c) is empty
    assert is_empty(replace(row, invented=True), highest_c)


def test_a_month_is_what_the_page_says():
    assert timedelta(days=30) == bin.KEPT_FOR
