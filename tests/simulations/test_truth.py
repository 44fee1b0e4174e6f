"""The truth of a firing as figures."""

from __future__ import annotations

import pytest

from simulations.plant.mishaps import Happened
from simulations.truth import TruePart, Truth

TIMES = tuple(60.0 * n for n in range(61))
RAMP, UNENDED = TruePart(1, "ramp", 600.0, 1800.0), TruePart(1, "hold", 1800.0, None)
LATE = TruePart(2, "ramp", 0, 1e6)
TRUTH = Truth((RAMP, UNENDED), (Happened("lid", None, 100.0, 160.0),), 120.0,
              tuple(20.0 + t / 12 for t in TIMES), TIMES, TIMES, TIMES)


def test_the_rate_of_a_part_is_the_glasss_own():
    assert TRUTH.rate_c_per_h(RAMP) == pytest.approx(300.0)  # 1/12 K a second


def test_a_part_outside_the_readings_has_no_rate():
    assert TRUTH.rate_c_per_h(UNENDED) is None
    assert TRUTH.rate_c_per_h(LATE) is None


def test_it_is_told_as_plain_values():
    assert TRUTH.as_json() == {
        "start_s": 120.0,
        "parts": [
            {"step": 1, "part": "ramp", "start_s": 600.0, "end_s": 1800.0, "glass_rate_c_per_h": 300.0},
            {"step": 1, "part": "hold", "start_s": 1800.0, "end_s": None, "glass_rate_c_per_h": None},
        ],
        "faults": [{"name": "lid", "size": None, "at_s": 100.0, "until_s": 160.0}],
        "peak_glass_c": 320.0,
    }


def test_a_piece_of_glass_has_its_surface_ahead_of_its_core_on_a_climb():
    surface_c, core_c = TRUTH.through(12.0)
    assert len(surface_c) == len(core_c) == len(TIMES)
    assert surface_c[-1] > TRUTH.glass_c[-1] > core_c[-1]
