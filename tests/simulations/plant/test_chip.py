"""The stand-in chip, register by register, as its data sheet has it."""

from __future__ import annotations

import pytest

from simulations.plant.chip import RESET, Absent, Chip, Terminals
from simulations.plant.spi import Select, Spi
from simulations.plant.thermocouple import emf_mv


class Rig:
    def __init__(self) -> None:
        self.now_s = 0.0
        self.there = Terminals(emf_mv("K", 545.0) - emf_mv("K", 25.0), 25.0)
        self.chip = Chip(lambda: self.there, lambda: self.now_s, noise_mv=0.0)

    def write(self, address: int, *values: int) -> None:
        self.chip.transfer(bytes((address | 0x80, *values)))

    def read(self, address: int, count: int = 1) -> bytes:
        return self.chip.transfer(bytes((address, *(0,) * count)))[1:]

    def convert(self) -> None:
        self.write(0, self.read(0)[0] | 0x40)
        self.now_s += 2.0
        self.read(0)


@pytest.mark.parametrize(("cr0", "cr1", "expected_s"), [
    # One-shot times, typical (from memory): 143 ms at 60 Hz, 169 ms at 50 Hz, 33.33 or 40 ms a further sample.
    (0x40, 0x03, 0.143), (0x41, 0x03, 0.169), (0x40, 0x13, 0.17633), (0x41, 0x23, 0.289), (0x41, 0x43, 0.769),
])
def test_a_one_shot_takes_its_time(cr0, cr1, expected_s):
    rig = Rig()
    rig.write(1, cr1)
    rig.write(0, cr0)
    rig.now_s = expected_s - 0.001
    assert rig.read(0)[0] & 0x40
    assert rig.read(12, 3) == bytes(3)
    rig.now_s = expected_s + 0.001
    assert not rig.read(0)[0] & 0x40
    assert rig.read(12, 3) != bytes(3)


def test_registers_after_power_up_are_the_data_sheets():
    assert Rig().read(0, 16) == RESET
    assert RESET.hex() == "0003ff7fc07fff800000000000000000"


@pytest.mark.parametrize(("hot", "code"), [(545.0, "221000"), (782.5, "30e800")])
def test_a_temperature_becomes_the_data_sheets_code(hot, code):
    rig = Rig()
    # A cold junction at 0 °C needs no compensation: the code is that of the printed voltage alone.
    rig.there = Terminals(emf_mv("K", hot), 0.0)
    rig.convert()
    assert rig.read(12, 3).hex() == code


@pytest.mark.parametrize(("cold", "code"), [(25.0, "1900"), (-0.015625, "fffc"), (-55.0, "c900")])
def test_a_cold_junction_becomes_the_data_sheets_code(cold, code):
    rig = Rig()
    rig.there = Terminals(0.0, cold)
    rig.convert()
    assert rig.read(10, 2).hex() == code


def test_the_cold_junction_offset_moves_the_result_with_it():
    rig = Rig()
    rig.write(9, 0x20)  # two degrees, 1/16 °C each
    rig.convert()
    assert rig.read(10, 2).hex() == "1b00"  # 27 °C
    shown = int.from_bytes(rig.read(12, 3), "big") / 4096
    assert shown == pytest.approx(545.0 + 2.0 * 0.0405 / 0.0427, abs=0.1)  # slopes of type K at 25 and 545 °C


def test_wrong_type_set_shows_the_wrong_temperature():
    rig = Rig()
    rig.there = Terminals(emf_mv("N", 800.0), 0.0)
    rig.convert()
    assert int.from_bytes(rig.read(12, 3), "big") / 4096 == pytest.approx(684.0, abs=0.6)


def test_an_open_circuit_is_told_only_when_the_test_for_it_is_on():
    rig = Rig()
    rig.there = Terminals(None, 25.0)
    rig.convert()
    assert rig.read(15) == b"\x00"
    rig.write(0, 0x10)
    rig.convert()
    assert rig.read(15) == b"\x01"
    assert int.from_bytes(rig.read(12, 3), "big") / 4096 == pytest.approx(25.0, abs=0.01), "a number all the same"


@pytest.mark.parametrize(("mv", "cold", "expected"), [
    (60.0, 25.0, 0x40), (0.0, 126.0, 0x80), (0.0, -60.0, 0x80), (60.0, 126.0, 0xC0),
])
def test_range_bits(mv, cold, expected):
    rig = Rig()
    rig.there = Terminals(mv, cold)
    rig.convert()
    assert rig.read(15)[0] == expected


@pytest.mark.parametrize(("registers", "expected"), [
    ((0x14, 0xC0, 0x7F, 0xFF, 0x80, 0x00), 0x20),  # cold junction high at 20 °C
    ((0x7F, 0x1E, 0x7F, 0xFF, 0x80, 0x00), 0x10),  # cold junction low at 30 °C
    ((0x7F, 0xC0, 0x1F, 0x40, 0x80, 0x00), 0x08),  # thermocouple high at 500 °C
    ((0x7F, 0xC0, 0x7F, 0xFF, 0x25, 0x80), 0x04),  # thermocouple low at 600 °C
])
def test_threshold_bits(registers, expected):
    rig = Rig()
    rig.write(3, *registers)
    rig.convert()
    assert rig.read(15)[0] == expected


def test_latched_faults_stay_until_cleared():
    rig = Rig()
    rig.write(0, 0x14)
    rig.there = Terminals(None, 25.0)
    rig.convert()
    rig.there = Terminals(0.0, 25.0)
    rig.convert()
    assert rig.read(15) == b"\x01"
    rig.write(0, 0x16)
    assert rig.read(15) == b"\x00"
    assert rig.read(0) == b"\x14", "fault clear falls back by itself"


def test_automatic_conversions_go_on():
    rig = Rig()
    rig.write(0, 0x80)
    for _ in range(50):
        rig.now_s += 0.1
        rig.read(0)
    assert 45 <= rig.chip.conversions <= 50  # one of 143 ms, then every 82 ms, looked at every 100 ms


def test_automatic_conversions_keep_their_turn_after_a_pause():
    rig = Rig()
    rig.write(0, 0x80)
    rig.now_s = 10.0
    rig.read(0)  # nobody looked for ten seconds: only the last result is there
    assert rig.chip.conversions == 1
    # The first ended at 143 ms, and one each 82 ms since: the 121st of these ends at 10.065 s.
    rig.now_s = 10.064
    rig.read(0)
    assert rig.chip.conversions == 1
    rig.now_s = 10.066
    rig.read(0)
    assert rig.chip.conversions == 2


def test_measurements_cannot_be_written():
    rig = Rig()
    rig.write(10, 1, 2, 3, 4, 5, 6)
    assert rig.read(10, 6) == bytes(6)


def test_addresses_count_on_and_wrap():
    rig = Rig()
    rig.write(1, 0x23, 0x55)
    assert rig.read(1, 2) == b"\x23\x55"
    assert rig.read(15, 3) == b"\x00\x00\x23"


@pytest.mark.parametrize(("absent", "answer"), [(Absent.ONES, b"\xff"), (Absent.ZEROS, b"\x00")])
def test_an_absent_chip_answers_one_level(absent, answer):
    rig = Rig()
    rig.chip.absent = absent
    assert rig.read(0, 16) == answer * 16


def test_averaging_quietens_the_noise():
    spread = {}
    for averaging in (0x03, 0x43):
        now = [0.0]
        chip = Chip(lambda: Terminals(20.0, 25.0), lambda now=now: now[0], seed=5)
        chip.transfer(bytes((0x81, averaging)))
        codes = []
        for _ in range(400):
            chip.transfer(b"\x80\x40")
            now[0] += 2.0
            codes.append(int.from_bytes(chip.transfer(b"\x0c\0\0\0")[1:], "big") / 4096)
        mean = sum(codes) / len(codes)
        spread[averaging] = (sum((code - mean) ** 2 for code in codes) / len(codes)) ** 0.5
    # 1.3 µV over 42.5 µV/K is 0.031 K for one sample; a quarter of it for sixteen.
    assert spread[0x03] == pytest.approx(0.031, rel=0.15)
    assert spread[0x43] == pytest.approx(0.031 / 4, rel=0.25)


def test_the_bus_wants_lock_mode_and_select():
    rig = Rig()
    select = Select()
    bus = Spi(rig.chip, select)
    buffer = bytearray(2)
    with pytest.raises(RuntimeError, match="locked"):
        bus.readinto(buffer)
    assert bus.try_lock()
    assert not bus.try_lock()
    bus.configure(baudrate=500_000, polarity=0, phase=0)
    select.value = False
    bus.write(b"\x01")
    bus.readinto(buffer)
    assert buffer == b"\xff\xff", "the wrong edge reads nothing true"
    bus.configure(baudrate=500_000, polarity=0, phase=1)
    bus.write_readinto(b"\x01\x00", buffer)
    assert buffer == b"\x00\x03"
    with pytest.raises(ValueError, match="5 MHz"):
        bus.configure(baudrate=8_000_000)
