"""The drawing of the wires, the tables of docs/install.md and the pins of the program agree; what the guide lets a
maker expect of ice and boiling water follows from published figures."""

import importlib.util
import re
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from daemon.fields import Fields
from daemon.sensor.boiling import boiling_c, pressure_hpa
from daemon.settings.config import parse_config
from hw.accuracy import accuracy
from hw.max31856 import open_probe
from simulations.plant.thermocouple import emf_mv, temp_c

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "docs" / "install.md").read_text(encoding="utf-8")
COMMANDS = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
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


def test_water_boils_where_the_guide_says():
    # Check values of both relations: tests/daemon/sensor/test_boiling.py.
    rows = table("Altitude")
    assert len(rows) == 7
    for altitude, told in rows:
        boils_c = boiling_c(pressure_hpa(float(altitude.removesuffix(" m"))))
        assert float(told.removesuffix(" °C")) == pytest.approx(boils_c, abs=0.5)
    assert boiling_c(pressure_hpa(0.0)) - boiling_c(pressure_hpa(300.0)) == pytest.approx(1.0, abs=0.05)
    # The weather: 30 hPa to either side of the standard's 1013 hPa.
    assert boiling_c(1043.0) - boiling_c(1013.0) == pytest.approx(1.0, abs=0.2)


@pytest.mark.parametrize(("kind", "tolerance_class", "together"), [
    ("K", 2, "3.2 to 3.5"), ("N", 2, "3.2 to 3.5"), ("S", 2, "2.8"), ("K", 1, "2.2 to 2.6"), ("N", 1, "2.2 to 2.6"),
])
def test_the_limits_in_ice_are_what_wire_and_converter_may_be_off(kind, tolerance_class, together):
    found = accuracy(kind, tolerance_class, 0.0, 25.0)
    low, *high = (float(figure) for figure in together.split(" to "))
    assert low - 0.05 <= found.plus_minus_k <= (high[0] if high else low) + 0.05
    assert found.thermocouple_k + found.converter_k + found.cold_end_k < 5.1
    assert f"{together} °C" in GUIDE.replace("\n", " ")
    assert "**Ice slush: 0 °C, within 3 °C.**" in GUIDE


@pytest.mark.parametrize(("where", "temp_c"), [("in ice", 0.0), ("at 516 °C", 516.0), ("at 800 °C", 800.0)])
def test_what_the_commands_page_states_of_type_k_is_what_is_reckoned(where, temp_c):
    row = re.search(rf"^\| {where} \| ± ([\d.]+) °C \| ± ([\d.]+) °C \|$", COMMANDS, re.MULTILINE)
    assert [float(figure) for figure in row.groups()] == [
        pytest.approx(accuracy("K", wire, temp_c, 25.0).plus_minus_k, abs=0.05) for wire in (1, 2)]
    assert f"± {accuracy('K', 2, 516.0, 45.0).plus_minus_k:.1f} °C instead of 4.7 °C" in COMMANDS


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
