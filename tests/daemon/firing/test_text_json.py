"""A text comes back from JSON as it was, and what makes no sense in it is left out."""

from __future__ import annotations

import json

import pytest

from daemon.firing import example_firing
from daemon.firing.events import IfNotKeyed, Rank
from daemon.firing.kind import Finding
from daemon.firing.text_json import read_text, text_json
from daemon.firing.watches import cooling_too_fast, firing_stopped, over_temperature, restarted


def text(kind, number):
    return kind.words(Finding(kind, Rank.WAKE, 0.0, kind.examples[number].facts, 4), example_firing.speaker())


@pytest.mark.parametrize(("kind", "number", "told"), [
    (restarted.KIND, 0, IfNotKeyed.LEAVE), (restarted.KIND, 2, IfNotKeyed.ISOLATOR),
    (cooling_too_fast.KIND, 0, IfNotKeyed.LEAVE), (firing_stopped.KIND, 2, IfNotKeyed.NOTHING),
    (over_temperature.KIND, 0, IfNotKeyed.NOTHING),
])
def test_a_text_comes_back_whole(kind, number, told):
    was = text(kind, number)
    assert was.if_not_keyed is told
    assert read_text(json.loads(json.dumps(text_json(was)))) == was


@pytest.mark.parametrize("value", [None, 7, "", "ISOLATOR", ["isolator"], {}])
def test_what_to_do_without_keying_in_is_nothing_where_its_value_is_none_of_the_known(value):
    found = text_json(text(restarted.KIND, 2)) | {"if_not_keyed": value}
    assert read_text(found).if_not_keyed is IfNotKeyed.NOTHING


@pytest.mark.parametrize("value", [None, True, -1, 9, "1", 1.0])
def test_lines_that_an_earlier_version_stored_follow_the_act_with_the_colon(value):
    """It stored no ``lines_after``; a value that makes no sense is none either."""
    was = text(firing_stopped.KIND, 2)
    assert was.lines_after == 1
    found = text_json(was)
    assert read_text({key: kept for key, kept in found.items() if key != "lines_after"}) == was
    assert read_text(found | {"lines_after": value}) == was
    assert read_text(found | {"lines": []}).lines_after is None
