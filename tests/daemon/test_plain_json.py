"""No minus zero in JSON."""

from __future__ import annotations

import json

import pytest

from daemon.firing.verdict.glass_verdict import rounded
from daemon.plain_json import without_minus_zero
from daemon.service.state_file import as_text


def test_minus_zero_becomes_zero_however_deep_and_nothing_else_changes():
    given = {"a": -0.0, "b": [(-0.0, 1.5), {"c": -0.0}], "d": -0.25, "e": None, "f": True, "g": "-0.0", "h": -3}
    assert json.dumps(without_minus_zero(given)) == (
        '{"a": 0.0, "b": [[0.0, 1.5], {"c": 0.0}], "d": -0.25, "e": null, "f": true, "g": "-0.0", "h": -3}')


@pytest.mark.parametrize("value", [-0.0, -0.00001, 0.0])
def test_a_rounded_figure_is_no_minus_zero(value):
    assert str(rounded(value, 4)) == "0.0"


def test_the_present_state_has_none():
    assert as_text({"rate_c_per_h": -0.0}) == '{"rate_c_per_h": 0.0}'
