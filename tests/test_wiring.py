"""The drawing of the wires, the tables of docs/install.md and the pins of the program agree; what the guide lets a
maker expect of ice and boiling water follows from published figures."""

import importlib.util
import re
import sys
from math import sqrt
from pathlib import Path
from xml.etree import ElementTree

import pytest

from daemon.fields import Fields
from daemon.settings.config import parse_config
from hw.max31856 import open_probe
from simulations.plant.thermocouple import emf_mv, temp_c

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "docs" / "install.md").read_text(encoding="utf-8")
SVG = "{http://www.w3.org/2000/svg}"

HEADER = {1: "3.3 V", 6: "ground", 11: 17, 13: 27, 14: "ground", 19: 10, 21: 9, 23: 11, 24: 8}
"""Pins of the 40-pin header that are used, with their GPIO number; the table PI4_J8 of the library gpiozero 2.0.1,
which it also takes for models before and after."""


def wiring():
    """Return docs/wiring.py as a module."""
    name = "lehrling_docs_wiring"
    spec = importlib.util.spec_from_file_location(name, ROOT / "docs" / "wiring.py")
    sys.modules[name] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(sys.modules[name])
    return sys.modules[name]


DRAWN = wiring()


def table(head):
    """Return the rows of the guide's table that begins with a head, as tuples of cells."""
    body = re.search(rf"^\| {re.escape(head)} \|.*\n\|[-:|]+\n((?:\|.*\n)+)", GUIDE, re.MULTILINE)[1]
    return [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in body.splitlines()]


@pytest.mark.parametrize(("head", "wires"), [("Converter board", DRAWN.CONVERTER),
                                             ("Transistor or relay board", DRAWN.SWITCH)])
def test_the_guides_tables_are_the_wires_that_are_drawn(head, wires):
    assert table(head) == [(wire.pad, wire.place) for wire in wires]


def test_the_drawing_that_the_guide_shows_is_the_one_that_is_drawn():
    assert "](wiring.svg)" in GUIDE
    assert DRAWN.TARGET.read_text(encoding="utf-8") == DRAWN.drawing()


def test_every_wire_of_the_drawing_is_named_and_ends_at_its_pin():
    root = ElementTree.fromstring(DRAWN.TARGET.read_text(encoding="utf-8"))
    words = [found.text for found in root.iter(f"{SVG}text")]
    ends = {tuple(map(float, point.split(","))) for found in root.iter(f"{SVG}polyline")
            for point in found.attrib["points"].split()}
    discs = {(float(found.attrib["cx"]), float(found.attrib["cy"])) for found in root.iter(f"{SVG}circle")}
    for wire in DRAWN.WIRES:
        assert wire.pad in words
        assert wire.place in words
        place = DRAWN.centre(wire.pin)
        assert place in discs
        assert any(max(abs(x - place[0]), abs(y - place[1])) <= DRAWN.DISC for x, y in ends), wire


def test_the_drawing_says_what_it_is_and_brings_its_own_ground():
    root = ElementTree.fromstring(DRAWN.TARGET.read_text(encoding="utf-8"))
    title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.attrib["aria-labelledby"].split() == [title.attrib["id"], description.attrib["id"]]
    assert all(wire.place in description.text for wire in DRAWN.WIRES)
    ground = root.find(f"{SVG}rect").attrib
    assert (float(ground["width"]), float(ground["height"])) == tuple(map(float, root.attrib["viewBox"].split()[2:]))


def test_no_two_wires_share_a_pin_and_each_pin_carries_what_is_said():
    pins = [wire.pin for wire in DRAWN.WIRES]
    assert sorted(pins) == sorted(HEADER)
    for wire in DRAWN.WIRES:
        number = re.match(r"GPIO (\d+)", wire.role)
        assert HEADER[wire.pin] == (int(number[1]) if number else wire.role)


def test_the_bus_that_is_opened_when_nothing_is_set_has_the_pins_of_the_table(monkeypatch):
    opened = []

    class Device:
        def __init__(self, path, **_mode):
            opened.append(path)

    monkeypatch.setattr("Adafruit_PureIO.spi.SPI", Device)
    open_probe(Fields({}, "[probe] "), lambda: 0.0)
    # Linux names a device spidevB.C: bus B, chip select C (Documentation/spi/spidev.rst of the kernel).
    bus, select = re.fullmatch(r"/dev/spidev(\d)\.(\d)", opened[0]).groups()
    assert bus == "0"
    # Bus 0 as the library that drives the sounder's pins knows it on every Pi with 40 pins.
    source = Path(importlib.util.find_spec("adafruit_blinka.board.raspberrypi.raspi_40pin").origin).read_text()
    named = {name: int(number) for name, number in re.findall(r"^(\w+) = pin\.D(\d+)$", source, re.MULTILINE)}
    told = dict(re.findall(r"(\w+) (\d+)", " ".join(
        f"{name} {number}" for number, name in re.findall(r"GPIO (\d+) \((\w+)\)", str(table("Converter board"))))))
    assert {name: int(number) for name, number in told.items()} == {
        name: named[name] for name in ("MOSI", "MISO", "SCLK", f"CE{select}")}
    assert f"DeviceAllow={opened[0]} rw" in (ROOT / "systemd" / "lehrling-daemon.service").read_text()


def test_the_sounders_pins_are_those_of_the_settings_that_are_shown(tmp_path):
    settings = (ROOT / "docs" / "settings.md").read_text(encoding="utf-8")
    lines = re.search(r"^\[sounder\].*\n(?:\w.*\n)+", settings, re.MULTILINE)[0]
    assert parse_config(lines, "docs/settings.md", tmp_path).sounder is not None
    shown = dict(re.findall(r'^(pin|lamp_pin) = "D(\d+)"', lines, re.MULTILINE))
    drawn = {wire.pad: wire.role for wire in DRAWN.SWITCH}
    assert drawn["IN 1, sounder"] == f"GPIO {shown['pin']}"
    assert drawn["IN 2, lamp"] == f"GPIO {shown['lamp_pin']}"


def boils_c(altitude_m):
    """Return where water boils: standard atmosphere (ISO 2533) and IAPWS-IF97, region 4, equation 31."""
    pressure_mpa = 0.101325 * (1 - 0.0065 * altitude_m / 288.15) ** 5.25588
    return saturation_k(pressure_mpa) - 273.15


def saturation_k(pressure_mpa):
    """Return the saturation temperature of water [K] (IAPWS-IF97, equation 31, coefficients of its table 34)."""
    n = (1167.0521452767, -724213.16703206, -17.073846940092, 12020.824702470, -3232555.0322333, 14.915108613530,
         -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798)
    beta = pressure_mpa ** 0.25
    e = beta ** 2 + n[2] * beta + n[5]
    f = n[0] * beta ** 2 + n[3] * beta + n[6]
    g = n[1] * beta ** 2 + n[4] * beta + n[7]
    d = 2 * g / (-f - sqrt(f ** 2 - 4 * e * g))
    return (n[9] + d - sqrt((n[9] + d) ** 2 - 4 * (n[8] + n[9] * d))) / 2


def test_water_boils_where_the_guide_says():
    # The check values of IAPWS-IF97, table 36 (from memory): 0.1 MPa and 1 MPa.
    assert saturation_k(0.1) == pytest.approx(372.755919, abs=1e-5)
    assert saturation_k(1.0) == pytest.approx(453.035632, abs=1e-5)
    rows = table("Altitude")
    assert len(rows) == 7
    for altitude, told in rows:
        assert float(told.removesuffix(" °C")) == pytest.approx(boils_c(float(altitude.removesuffix(" m"))), abs=0.5)
    assert boils_c(0.0) - boils_c(300.0) == pytest.approx(1.0, abs=0.05)
    # The weather: 3 kPa to either side of the standard's 101.3 kPa.
    assert saturation_k(0.1043) - saturation_k(0.1013) == pytest.approx(1.0, abs=0.2)


def errors_k(kind, wire_k, full_scale_uv, offset_uv):
    """Return what may be wrong in ice [K]: wire, terminals, amplifier's span and offset, by data sheet and table."""
    uv_per_k = 1000 * emf_mv(kind, 1.0)
    terminals_k = 0.7 * 1000 * (emf_mv(kind, 25.5) - emf_mv(kind, 24.5)) / uv_per_k
    return wire_k, terminals_k, 0.0005 * full_scale_uv / uv_per_k, offset_uv / uv_per_k


@pytest.mark.parametrize(("kind", "wire_k", "full_scale_uv", "offset_uv", "together_k"), [
    ("K", 2.5, 78_125, 7.8, 3.0), ("N", 2.5, 78_125, 7.8, 3.0), ("S", 1.5, 19_531, 2.0, 2.5),
    ("K", 1.5, 78_125, 7.8, 2.0), ("N", 1.5, 78_125, 7.8, 2.5),
])
def test_the_limits_in_ice_are_what_wire_and_converter_may_be_off(kind, wire_k, full_scale_uv, offset_uv, together_k):
    # IEC 60584-1 for the wire; the converter's data sheet at 25 °C: ±0.7 °C, ±0.05 % of full scale, offset.
    errors = errors_k(kind, wire_k, full_scale_uv, offset_uv)
    assert sqrt(sum(error ** 2 for error in errors)) == pytest.approx(together_k, abs=0.3)
    assert sum(errors) < 5.1
    assert "**Ice slush: 0 °C, within 3 °C.**" in GUIDE


def shown_c(wire, set_as, tip_c, *, swapped=False, room_c=20.0):
    """Return what a converter at room temperature shows of a wire."""
    wire_mv = emf_mv(wire, tip_c) - emf_mv(wire, room_c)
    return temp_c(set_as, emf_mv(set_as, room_c) + (-wire_mv if swapped else wire_mv))


def test_what_a_wrong_reading_points_to_follows_from_the_tables_of_voltages():
    told = " ".join(cell for row in table("What you read") for cell in row)
    assert "40 °C in the ice, in a room of 20 °C the two wires are swapped" in told
    assert shown_c("K", "K", 0.0, swapped=True) == pytest.approx(40.0, abs=1.0)
    assert shown_c("K", "K", 100.0, swapped=True) < -50.0  # hw.max31856 believes nothing colder
    for degrees, wire, set_as in re.findall(r"(\d+) °C in boiling water type (\w)[^|]*? set as type (\w)", told):
        assert shown_c(wire, set_as, 100.0) == pytest.approx(float(degrees), abs=1.0)
    assert shown_c("R", "K", 100.0) == pytest.approx(33.0, abs=1.0)
