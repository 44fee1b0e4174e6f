"""The kilns of the bench by their measures: areas, and masses that such parts have."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulations.plant.builds import BRICK, FIBRE, PRESETS, Build

BOX = Build("box", 1000.0, (0.5, 0.4, 0.3), 0.1, BRICK, "top", 1.0, 1.0, 1.0, 0.0)


@pytest.fixture(params=list(PRESETS))
def build(request) -> Build:
    return PRESETS[request.param]


def test_areas_are_those_of_the_box_inside_and_outside():
    assert BOX.inside_m2 == pytest.approx(2 * (0.20 + 0.15 + 0.12))
    assert BOX.outside_m2 == pytest.approx(2 * (0.7 * 0.6 + 0.7 * 0.5 + 0.6 * 0.5))
    assert BOX.shelf_m2 == pytest.approx(0.8 * 0.20)


def test_a_lid_opens_the_top_and_a_door_the_front():
    assert BOX.opening_m2 == pytest.approx(0.5 * 0.4)
    assert replace(BOX, opening="front").opening_m2 == pytest.approx(0.5 * 0.3)


@pytest.mark.parametrize(("lining", "at_c", "expected"), [
    (BRICK, 400, 0.18), (BRICK, 800, 0.23), (FIBRE, 400, 0.11), (FIBRE, 800, 0.18),
])
def test_linings_conduct_as_makers_tables_have_them(lining, at_c, expected):
    # From memory of makers' tables for 1260 °C brick and 1260 °C fibre of 160 kg/m³.
    assert lining.k0 + lining.k1 * at_c == pytest.approx(expected, rel=0.15)


def test_elements_weigh_what_wire_of_their_load_weighs(build):
    # A wire of diameter d weighs 7100 kg/m³ · d/4 a face (iron, chromium and aluminium, from memory). At 1.5 W/cm²
    # (common practice) a kilowatt asks for 0.067 m², so wire of 1.7 to 3.4 mm weighs 0.2 to 0.4 kg.
    assert 0.2 <= build.element_kg / (build.power_w / 1000) <= 0.4


def test_shelf_and_glass_weigh_what_plates_of_their_area_weigh(build):
    # Cordierite of some 2000 kg/m³ (from memory), 15 to 26 mm thick with its posts; glass of 2500 kg/m³, 6 to 12 mm
    # thick on the 0.6 of the shelf that it covers.
    assert 30 <= build.shelf_kg / build.shelf_m2 <= 52
    assert 9 <= build.glass_kg / build.shelf_m2 <= 18.5
