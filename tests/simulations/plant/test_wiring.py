"""A probe wired wrongly shows what the tables say it must."""

from __future__ import annotations

import pytest

from simulations.plant.wiring import Wiring


@pytest.mark.parametrize(("kind", "set_to", "true_c", "shown_c"), [
    # IEC 60584-1 (NIST Monograph 175): E_N(800) = 28.455 mV, which is type K at 684 °C; E_K(800) = 33.275 mV,
    # type N at 923 °C; E_S(800) = 7.345 mV, type K at 180 °C.
    ("N", "K", 800.0, 684.0), ("K", "N", 800.0, 923.0), ("S", "K", 800.0, 180.0),
])
def test_the_wrong_type_shows_what_the_tables_say(kind, set_to, true_c, shown_c):
    assert Wiring(kind, set_to).shown_c(true_c, 0.0, 0.0) == pytest.approx(shown_c, abs=1.0)


def test_a_voltage_beyond_the_types_table_is_no_temperature():
    assert Wiring("K", "S").shown_c(800.0, 25.0, 25.0) is None  # 33 mV; type S ends at 18.7 mV


def test_reversed_leads_fall_as_the_kiln_heats():
    turned = Wiring(is_reversed=True)
    assert turned.shown_c(25.0, 25.0, 25.0) == pytest.approx(25.0, abs=0.05)
    assert turned.shown_c(60.0, 25.0, 25.0) == pytest.approx(-11.5, abs=1.0)


def test_copper_from_the_head_reads_low_by_what_the_head_is_warmer():
    shown_c = Wiring(has_copper_lead=True).shown_c(500.0, 30.0, 70.0)
    assert shown_c == pytest.approx(500.0 - 40.0, abs=2.5)  # type K is near enough straight here


def test_right_wiring_shows_the_junction():
    assert Wiring().shown_c(516.25, 30.0, 70.0) == 516.25
