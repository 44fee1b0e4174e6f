"""Thermoelectric voltage against the printed tables of ITS-90."""

from __future__ import annotations

import pytest

from simulations.plant.thermocouple import TYPES, emf_mv, span_c, temp_c

# NIST Monograph 175 (IEC 60584-1): °C, then mV of types K, N, S and R against 0 °C.
TABLE = [
    (0, 0.000, 0.000, 0.000, 0.000),
    (25, 1.000, 0.659, 0.143, 0.141),
    (100, 4.096, 2.774, 0.646, 0.647),
    (300, 12.209, 9.341, 2.323, 2.401),
    (482, 19.877, 16.060, 4.056, 4.276),
    (500, 20.644, 16.748, 4.233, 4.471),
    (515, 21.284, 17.323, 4.382, 4.635),
    (545, 22.563, 18.479, 4.682, 4.966),
    (600, 24.906, 20.613, 5.239, 5.584),
    (780, 32.453, 27.669, 7.128, 7.705),
    (800, 33.275, 28.455, 7.345, 7.950),
    (1000, 41.276, 36.256, 9.587, 10.506),
]
CELLS = [(kind, row[0], row[1 + "KNSR".index(kind)]) for row in TABLE for kind in "KNSR"]


@pytest.mark.parametrize(("kind", "at_c", "printed_mv"), CELLS)
def test_voltages_are_those_of_the_printed_table(kind, at_c, printed_mv):
    assert emf_mv(kind, at_c) == pytest.approx(printed_mv, abs=0.001)


@pytest.mark.parametrize(("kind", "at_c", "printed_mv"), CELLS)
def test_temperatures_are_those_of_the_printed_table(kind, at_c, printed_mv):
    found = temp_c(kind, printed_mv)
    # A thousandth of a millivolt is at most 0.2 K (types S and R at room temperature).
    assert found == pytest.approx(at_c, abs=0.001 / (emf_mv(kind, at_c + 1) - emf_mv(kind, at_c)))


@pytest.mark.parametrize("kind", TYPES)
def test_there_and_back_is_the_same_temperature(kind):
    low, high = span_c(kind)
    for step in range(1, 2000):
        at_c = low + (high - low) * step / 2000
        assert temp_c(kind, emf_mv(kind, at_c)) == pytest.approx(at_c, abs=0.002)


@pytest.mark.parametrize(("kind", "joint_c"), [("K", 0.0), ("N", 0.0), ("R", 1064.18), ("S", 1064.18),
                                               ("R", 1664.5), ("S", 1664.5)])
def test_the_pieces_join(kind, joint_c):
    assert emf_mv(kind, joint_c - 1e-9) == pytest.approx(emf_mv(kind, joint_c + 1e-9), abs=1e-6)


@pytest.mark.parametrize("kind", TYPES)
def test_a_voltage_outside_the_span_has_no_temperature(kind):
    low, high = span_c(kind)
    assert temp_c(kind, emf_mv(kind, low) - 0.01) is None
    assert temp_c(kind, emf_mv(kind, high) + 0.01) is None


@pytest.mark.parametrize(("true_kind", "set_kind", "shown_c"), [("N", "K", 684.0), ("K", "N", 923.0),
                                                                ("S", "K", 180.0)])
def test_a_wrong_type_at_800_degrees_shows_what_the_tables_say(true_kind, set_kind, shown_c):
    # Worked from the printed tables: 28.455 mV is 684 °C for K, 33.275 mV 923 °C for N, 7.345 mV 180 °C for K.
    assert temp_c(set_kind, emf_mv(true_kind, 800.0)) == pytest.approx(shown_c, abs=0.6)
