"""The advice as steps to key in, in either unit, as JSON, and in lines that name rule and remedy."""

from __future__ import annotations

import pytest

from daemon.firing.advice.anneal_text import advice_json, advice_lines, as_plan
from daemon.firing.plan.plan import rate_to_unit, to_unit
from daemon.glass.advice import anneal
from daemon.glass.materials import FAMILIES

GLASS = FAMILIES["90"]
ADVICE = anneal(GLASS, 19.0, 1)
"""515 °C for 190 min, then 19 °C/h to 460, 39 to 405, 80 to 40 (derived in tests/daemon/glass/test_advice.py)."""


def keyed(unit: str, *, is_from_cold: bool = False) -> list[tuple[float | None, float, float]]:
    """Return (rate, target, hold min) of each step in the plan's own unit."""
    steps = as_plan(ADVICE, unit, is_from_cold=is_from_cold).steps
    return [(None if step.rate_c_per_h is None else round(rate_to_unit(step.rate_c_per_h, unit), 6),
             round(to_unit(step.to_c, unit), 6), step.hold_s / 60) for step in steps]


def test_as_a_plan_in_celsius_it_is_the_advice_itself():
    assert keyed("C") == [(None, 515.0, 190.0), (19.0, 460.0, 0.0), (39.0, 405.0, 0.0), (80.0, 40.0, 0.0)]


def test_as_a_plan_in_fahrenheit_it_is_whole_degrees_and_never_faster():
    # 515, 460, 405, 40 °C are 959, 860, 761, 104 °F; 19, 39, 80 °C/h are 34.2, 70.2, 144 °F/h, down to two figures.
    assert keyed("F") == [(None, 959.0, 190.0), (34.0, 860.0, 0.0), (70.0, 761.0, 0.0), (140.0, 104.0, 0.0)]


def test_a_temperature_between_whole_degrees_fahrenheit_goes_to_the_nearest():
    # Float is held at 546 °C = 1014.8 °F, cooled to 489 = 912.2 and 434 = 813.2.
    steps = as_plan(anneal(FAMILIES["float"], 6.0), "F").steps
    assert [round(to_unit(step.to_c, "F"), 6) for step in steps] == [1015.0, 912.0, 813.0, 104.0]


@pytest.mark.parametrize(("unit", "rate"), [("C", 50.0), ("F", 90.0)])
def test_from_cold_it_climbs_as_a_fused_plate_bears(unit, rate):
    # 80 · (19/12)^log2(80/150) = 52.7 °C/h, keyed in as 50.
    assert keyed(unit, is_from_cold=True)[0] == (rate, to_unit(515.0, unit), 190.0)


def test_the_json_says_rules_the_other_faces_and_what_is_assumed():
    found = advice_json(ADVICE, uneven=True)
    assert found["stages"][0] == {"to_c": 460.0, "rate_c_per_h": 19.0, "ruled_by": "stress that stays"}
    assert (found["hold_c"], found["hold_min"], found["hold_ruled_by"]) == (515.0, 190.0, "common practice")
    # 6(1−ν)η/E · ln 20 at 10^12 Pa·s, 70 GPa, ν 0.22: 66.9 s · 3.0 = 3.34 min.
    assert found["glass_relaxes_min"] == pytest.approx(3.34, abs=0.01)
    assert found["other_faces"]["faces"] == 2
    assert found["other_faces"]["stages"][0]["rate_c_per_h"] == 36.0
    assert found["assumes"]["uneven"] is True
    assert found["assumes"]["thickness_mm"] == 19.0


def test_the_lines_say_the_other_faces_only_where_they_ask_something_else():
    shelf = "\n".join(advice_lines(ADVICE, uneven=False))
    assert "then 19 °C/h (34 °F/h) to 460 °C (860 °F): so that little stress stays" in shelf
    assert "If both faces cooled alike, the first stage would be 36 °C/h (65 °F/h)" in shelf
    assert "not a safety device" in shelf
    assert "twice the thickness" not in shelf
    both = "\n".join(advice_lines(anneal(GLASS, 19.0, 2), uneven=True))
    assert "If it lay on a shelf, one face cooled, the first stage would be 19 °C/h" in both
    assert "twice the thickness" in both
    assert "first stage would be" not in "\n".join(advice_lines(anneal(GLASS, 3.0), uneven=False))
