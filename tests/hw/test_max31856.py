"""The bounded, sceptical layer over the real driver, on a chip of registers."""

from __future__ import annotations

import os
import sys
import time

import pytest
from adafruit_max31856 import MAX31856

from daemon.errors import BadInput
from daemon.fields import Fields
from hw.bus import Bus
from hw.max31856 import Max31856, open_probe
from hw.max31856_registers import cold_c, hot_c
from hw.thermocouple import Fault, ProbeError
from simulations.plant.chip import Absent, Chip, Terminals
from simulations.plant.spi import Select, Spi
from simulations.plant.thermocouple import emf_mv


def opened_with(settings, now_s):
    return open_probe(Fields(settings, "[probe] "), now_s)


class Rig:
    """A chip with a thermocouple of type K on it, and a clock turned by sleeping."""

    def __init__(self, **settings) -> None:
        self.now_s = 0.0
        self.hot_c, self.cold_c = 545.0, 25.0
        self.open = self.voltage = False
        self.chip = Chip(self.terminals, lambda: self.now_s, noise_mv=0.0)
        self.transfers = 0
        self.probe = Max31856(Bus(self.transfer), now_s=lambda: self.now_s, sleep=self.sleep, **settings)

    def terminals(self) -> Terminals:
        mv = None if self.open else emf_mv("K", self.hot_c) - emf_mv("K", self.cold_c)
        return Terminals(mv, self.cold_c, self.voltage)

    def transfer(self, sent: bytes) -> bytes:
        self.transfers += 1
        return self.chip.transfer(sent)

    def sleep(self, duration_s: float) -> None:
        self.now_s += duration_s

    def read(self):
        """Read a second after the last, and hold the promise that one look is bounded."""
        began_s, self.transfers = self.now_s, 0
        reading = self.probe.read()
        assert self.now_s - began_s < 1.9, "a look must leave the clock's tick alone"
        assert self.transfers < 150
        self.now_s = max(self.now_s, began_s + 1.0)
        return reading


# Codes of the data sheet's table of thermocouple temperatures (registers 0C to 0E) and of the cold
# junction (0A, 0B).
HOT_CODES = {"640000": 1600.0, "221000": 545.0, "30E800": 782.5, "000020": 0.0078125, "000000": 0.0,
             "FFFFE0": -0.0078125, "FFF000": -1.0, "F06000": -250.0}
COLD_CODES = {"7FFC": 127.984375, "1900": 25.0, "0004": 0.015625, "0000": 0.0, "FFFC": -0.015625, "C900": -55.0}


@pytest.mark.parametrize(("code", "expected_c"), HOT_CODES.items())
def test_thermocouple_codes_are_those_of_the_data_sheet(code, expected_c):
    assert hot_c(bytes(12) + bytes.fromhex(code) + b"\x00") == expected_c


@pytest.mark.parametrize(("code", "expected_c"), COLD_CODES.items())
def test_cold_junction_codes_are_those_of_the_data_sheet(code, expected_c):
    assert cold_c(bytes(10) + bytes.fromhex(code) + bytes(4)) == expected_c


def test_our_decoding_is_the_drivers_over_the_whole_range():
    rig = Rig()
    driver = MAX31856(Bus(rig.chip.transfer), None)
    for code in range(-200 * 128, 1800 * 128, 977):
        rig.chip.registers[12:15] = (code << 5).to_bytes(3, "big", signed=True)
        rig.chip.registers[10:12] = ((code % 8000 - 3500) << 2).to_bytes(2, "big", signed=True)
        registers = bytes(rig.chip.registers)
        assert hot_c(registers) == driver.unpack_temperature()
        assert cold_c(registers) == driver.unpack_reference_temperature()


@pytest.mark.parametrize("temp_c", [20.0, 482.0, 545.0, 800.0, 1100.0])
@pytest.mark.parametrize("averaging", [1, 2, 4, 8, 16])
@pytest.mark.parametrize("mains_hz", [50, 60])
def test_a_good_reading_is_right_to_half_a_code(temp_c, averaging, mains_hz):
    rig = Rig(averaging=averaging, mains_hz=mains_hz)
    rig.hot_c = temp_c
    reading = rig.read()
    assert reading.fault is None
    # Half a code of each register: the cold junction's is twice as coarse, and type K gives nearly the same
    # voltage for a degree there and here.
    assert reading.temp_c == pytest.approx(temp_c, abs=1 / 256 + 1 / 128)
    assert reading.cold_junction_c == 25.0


def test_the_driver_also_reads_through_a_bare_boards_bus_and_select_pin():
    now = [0.0]
    chip = Chip(lambda: Terminals(emf_mv("K", 600.0) - emf_mv("K", 25.0), 25.0), lambda: now[0], noise_mv=0.0)
    select = Select()

    def sleep(duration_s: float) -> None:
        now[0] += duration_s

    probe = Max31856(Spi(chip, select), select, now_s=lambda: now[0], sleep=sleep)
    assert probe.read().temp_c == pytest.approx(600.0, abs=0.02)
    assert select.value, "chip select is let go of"


def test_an_open_circuit_is_a_fault_and_never_a_number():
    rig = Rig()
    rig.open = True
    reading = rig.read()
    assert (reading.temp_c, reading.fault) == (None, Fault.OPEN)
    assert reading.cold_junction_c == 25.0


@pytest.mark.parametrize("halts", [True, False])
def test_a_voltage_out_of_bounds_is_a_short_whether_or_not_the_conversion_ends(halts):
    rig = Rig()
    rig.chip.halts_on_voltage = halts
    rig.voltage = True
    assert rig.read().fault is Fault.SHORT


@pytest.mark.parametrize("absent", list(Absent))
def test_an_absent_chip_is_silent_in_bounded_time_and_cheap_from_then_on(absent):
    rig = Rig()
    assert rig.read().temp_c is not None
    rig.chip.absent = absent
    first, began_s = rig.read(), rig.now_s
    assert first.fault is Fault.SILENT
    assert f"only {absent.name.lower()}" in first.detail
    second = rig.probe.read()
    assert second.fault is Fault.SILENT
    assert rig.now_s == began_s, "the second look waits for no conversion"
    rig.chip.absent = None
    assert rig.read().temp_c == pytest.approx(545.0, abs=0.02), "it comes back by itself"


@pytest.mark.parametrize("absent", list(Absent))
def test_a_chip_that_was_never_there_is_silent(absent):
    rig = Rig()
    rig.chip.absent = absent
    assert rig.read().fault is Fault.SILENT


def test_a_conversion_that_never_ends_is_silent():
    rig = Rig()
    rig.chip.stuck = True
    reading = rig.read()
    assert reading.fault is Fault.SILENT
    assert "not done after 1 s" in reading.detail


def test_a_clock_that_stands_still_cannot_hold_the_look():
    rig = Rig()
    rig.chip.stuck = True
    rig.sleep = lambda duration_s: None
    probe = Max31856(Bus(rig.transfer), now_s=lambda: 0.0, sleep=lambda duration_s: None)
    assert probe.read().fault is Fault.SILENT
    assert rig.transfers < 150


def test_a_silent_reset_costs_one_reading_and_the_settings_are_put_back():
    rig = Rig(thermocouple_type="K", mains_hz=50)
    assert rig.read().fault is None
    rig.chip.reset()
    reading = rig.read()
    assert reading.fault is Fault.SILENT
    assert "lost its settings" in reading.detail
    assert rig.read().temp_c == pytest.approx(545.0, abs=0.02)
    rig.open = True
    assert rig.read().fault is Fault.OPEN, "the test for an open circuit is on again"


def test_a_reset_during_a_conversion_gives_no_number():
    rig = Rig()
    rig.read()
    wait = rig.sleep

    def reset_meanwhile(duration_s: float) -> None:
        wait(duration_s)
        rig.chip.reset()
        rig.probe._sleep = wait

    rig.probe._sleep = reset_meanwhile
    assert rig.read().fault is Fault.SILENT


@pytest.mark.parametrize(("register", "bit"), [(0, 0x01), (0, 0x10), (1, 0x01), (1, 0x40), (2, 0x08)])
def test_any_single_changed_setting_is_not_believed(register, bit):
    rig = Rig()
    rig.read()
    rig.chip.registers[register] ^= bit
    assert rig.read().fault is Fault.SILENT


@pytest.mark.parametrize("cold", [-21.0, 86.0, 126.0])
def test_a_cold_junction_that_cannot_be_is_out_of_range(cold):
    rig = Rig()
    rig.cold_c = cold
    reading = rig.read()
    assert (reading.temp_c, reading.fault) == (None, Fault.RANGE)


@pytest.mark.parametrize("hot", [-60.0, 1380.0])
def test_a_temperature_that_cannot_be_is_out_of_range(hot):
    rig = Rig()
    rig.hot_c = hot
    assert rig.read().fault is Fault.RANGE


def test_a_reading_of_minus_fifty_and_below_is_no_kiln():
    rig = Rig()
    rig.cold_c, rig.hot_c = -10.0, -49.0
    assert rig.read().fault is None
    rig.hot_c = -51.0
    assert rig.read().fault is Fault.RANGE


def test_a_jump_is_refused_once_and_believed_when_it_stays():
    rig = Rig()
    assert rig.read().temp_c == pytest.approx(545.0, abs=0.02)
    rig.hot_c = 800.0
    refused = rig.read()
    assert refused.fault is Fault.RANGE
    assert "no change a kiln makes" in refused.detail
    assert rig.read().temp_c == pytest.approx(800.0, abs=0.02)


def test_one_wild_reading_costs_at_most_two():
    rig = Rig()
    rig.read()
    rig.hot_c = 1200.0
    assert rig.read().fault is Fault.RANGE
    rig.hot_c = 545.0
    assert rig.read().fault is Fault.RANGE
    assert rig.read().temp_c == pytest.approx(545.0, abs=0.02)


def test_an_opened_lid_is_believed_at_once():
    rig = Rig()
    rig.hot_c = 800.0
    rig.read()
    rig.hot_c = 720.0  # 80 K in a second: four times what a 3 mm sheath loses in free air
    assert rig.read().temp_c == pytest.approx(720.0, abs=0.02)


def test_a_long_silence_allows_a_far_temperature():
    rig = Rig()
    rig.read()
    rig.now_s += 60.0
    rig.hot_c = 60.0
    assert rig.read().temp_c == pytest.approx(60.0, abs=0.02)


def test_a_failing_bus_is_silent_and_comes_back():
    rig = Rig()
    rig.read()
    working, rig.chip.transfer = rig.chip.transfer, _broken
    reading = rig.read()
    assert reading.fault is Fault.SILENT
    assert "Input/output error" in reading.detail
    rig.chip.transfer = working
    assert rig.read().fault is None


def _broken(sent: bytes) -> bytes:
    raise OSError(5, "Input/output error")


def test_a_missing_device_names_it_and_the_remedy(tmp_path):
    bus = str(tmp_path / "spidev9.0")
    with pytest.raises(ProbeError) as caught:
        opened_with({"bus": bus}, lambda: 0.0)
    assert caught.value.problem == f"[probe] bus = {bus!r} does not exist."
    assert "raspi-config" in caught.value.remedy


def test_a_file_that_is_no_bus_names_it_and_the_remedy(tmp_path):
    path = tmp_path / "spidev0.0"
    path.write_bytes(b"")
    with pytest.raises(ProbeError) as caught:
        opened_with({"bus": str(path)}, lambda: 0.0)
    assert caught.value.problem == f"[probe] bus = {str(path)!r} can't be opened: Inappropriate ioctl for device."


def test_a_forbidden_device_names_the_group(monkeypatch):
    def forbidden(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("Adafruit_PureIO.spi.SPI", forbidden)
    with pytest.raises(ProbeError, match="may not be opened by this user") as caught:
        opened_with({}, lambda: 0.0)
    assert "group spi" in caught.value.remedy


def test_a_missing_library_names_the_extra(monkeypatch):
    monkeypatch.setitem(sys.modules, "Adafruit_PureIO.spi", None)
    with pytest.raises(ProbeError, match="not installed") as caught:
        opened_with({}, lambda: 0.0)
    assert "lehrling[pi]" in caught.value.remedy


def test_opening_the_device_reads_the_chip_behind_it_and_closes_what_it_opened(monkeypatch):
    chip = Chip(lambda: Terminals(emf_mv("K", 520.0) - emf_mv("K", 25.0), 25.0), time.monotonic, noise_mv=0.0)
    opened = {}

    class Device:
        def __init__(self, path: str, **mode) -> None:
            opened.update(mode, path=path)
            self.handle = os.open(os.devnull, os.O_RDWR)
            opened["handle"] = self.handle

        def transfer(self, data: bytes) -> list[int]:
            return list(chip.transfer(data))

    monkeypatch.setattr("Adafruit_PureIO.spi.SPI", Device)
    probe = opened_with({"bus": "/dev/spidev0.1", "mains_hz": 60, "averaging": 1}, time.monotonic)
    assert probe.read().temp_c == pytest.approx(520.0, abs=0.02)
    assert (opened["path"], opened["phase"], opened["polarity"]) == ("/dev/spidev0.1", 1, 0)
    probe.close()
    probe.close()
    with pytest.raises(OSError, match="Bad file descriptor"):
        os.fstat(opened["handle"])


@pytest.mark.parametrize(("key", "value"), [
    ("mains_hz", 55), ("averaging", 3), ("averaging", True), ("thermocouple_type", "Z"), ("bus", 0),
])
def test_a_wrong_setting_is_named_with_its_value(key, value):
    with pytest.raises(BadInput, match=rf"\[probe\] {key}: {value!r} is "):
        opened_with({key: value}, lambda: 0.0)


def test_an_unknown_setting_is_named_with_those_known():
    with pytest.raises(BadInput, match=r"mains: unknown key\. Known here: .*mains_hz"):
        opened_with({"mains": 50}, lambda: 0.0)


def test_all_wrong_settings_are_told_at_once():
    with pytest.raises(BadInput) as refused:
        opened_with({"bus": "", "averaging": 3}, lambda: 0.0)
    assert refused.value.text.split("\n  ")[1:] == [
        "[probe] bus: is empty. Write something, or leave the line out.",
        "[probe] averaging: 3 is unknown. Known: 1, 2, 4, 8, 16."]
