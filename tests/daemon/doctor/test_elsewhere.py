"""What the doctor says of the copies that are kept elsewhere."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from daemon.doctor.elsewhere import copy_elsewhere
from daemon.doctor.finding import State
from daemon.settings.elsewhere import read_place
from daemon.store.safety import elsewhere
from daemon.store.stamps import stamp

NOON = datetime(2026, 11, 29, 12, 0, tzinfo=UTC)
STICK = [read_place("usb:KILN")]


def kept(folder, *, days=None, trouble=""):
    copy = ("", "") if days is None else ("x.db", stamp(NOON - timedelta(days=days)))
    remedy = "Put it in." if trouble else ""
    elsewhere.keep(folder, "usb:KILN", elsewhere.Known("the stick KILN", *copy, trouble, remedy))


def test_without_a_place_it_says_how_and_asks_for_nothing(tmp_path):
    found = copy_elsewhere(tmp_path, [], NOON)
    assert found.state is State.NOTE
    assert "docs/install.md" in found.do


def test_a_place_without_a_copy_is_to_be_mended(tmp_path):
    assert copy_elsewhere(tmp_path, STICK, NOON).state is State.MEND
    kept(tmp_path, trouble="The stick KILN is not in.")
    found = copy_elsewhere(tmp_path, STICK, NOON)
    assert (found.state, found.said, found.do) == (
        State.MEND, "There is none yet. The stick KILN is not in.", "Put it in.")


def test_a_young_copy_is_good_and_a_failure_since_is_worth_knowing(tmp_path):
    kept(tmp_path, days=3)
    found = copy_elsewhere(tmp_path, STICK, NOON)
    assert (found.state, found.said) == (
        State.GOOD, "The newest was made 3 days ago. It is on the stick KILN, and was read back.")
    kept(tmp_path, trouble="The stick KILN is not in.")
    found = copy_elsewhere(tmp_path, STICK, NOON)
    assert (found.state, found.do) == (State.NOTE, "Put it in.")
    assert found.said.endswith("The stick KILN is not in.")


def test_an_old_copy_is_to_be_mended_with_what_to_do(tmp_path):
    kept(tmp_path, days=9)
    kept(tmp_path, trouble="The stick KILN is not in.")
    found = copy_elsewhere(tmp_path, STICK, NOON)
    assert found.state is State.MEND
    assert found.said.startswith("The newest was made 9 days ago.")
    assert found.do == "Put it in. Then take one: lehrling copies make"
