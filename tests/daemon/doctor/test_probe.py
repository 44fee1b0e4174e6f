"""What the doctor says of the probe: through the real driver on a chip of registers, and as the daemon tells."""

import random
from itertools import pairwise

import pytest

from daemon.doctor.finding import State
from daemon.doctor.own_look import LONGEST_S
from daemon.doctor.probe import NOISE_K, Look, findings, scatter_k
from daemon.doctor.probe_part import looked_at
from daemon.service.only_one import only_one
from daemon.settings.config import Config
from hw.thermocouple import ProbeError
from simulations.plant.chip import Absent


def looked(box):
    return {found.part: found for found in looked_at(box.places, Config(), box, box.computer)}


def test_a_sound_probe_is_good_in_every_part_that_needs_no_hand(box):
    found = looked(box)
    assert {part: one.state for part, one in found.items()} == {
        "probe": State.GOOD, "cold end": State.GOOD, "noise": State.GOOD, "polarity": State.NOTE,
        "accuracy": State.NOTE, "accuracy when hot": State.NOTE, "comparison": State.NOTE}
    assert found["probe"].said == "It reads 22 °C. The converter answers and has its settings."
    assert found["cold end"].said == "The converter is at 25 °C, the Pi's processor at 51 °C. That fits."


@pytest.mark.parametrize("answer", [Absent.ONES, Absent.ZEROS])
def test_a_chip_that_is_not_there_is_silent_and_no_temperature_is_made_up(box, answer):
    box.chip.absent = answer
    found = looked(box)
    assert list(found) == ["probe"]
    assert found["probe"].state is State.MEND
    assert "does not answer" in found["probe"].said
    assert "six wires" in found["probe"].do


def test_an_open_circuit_sends_to_the_kiln_s_own_display_and_isolates_first(box):
    box.open = True
    found = looked(box)["probe"]
    assert found.state is State.MEND
    assert "open" in found.said
    assert found.do.index("isolator off") < found.do.index("look at plug")


def test_a_voltage_at_the_input_says_to_touch_nothing_first(box):
    box.voltage = True
    found = looked(box)["probe"]
    assert found.do.startswith("Touch nothing")
    assert "licensed electrician" in found.do


def test_the_look_ends_within_its_time_whatever_the_chip_does(box):
    box.chip.absent = Absent.ONES
    looked(box)
    # A look that has begun may take the driver's deadline of one second and a little more.
    assert box.s <= LONGEST_S + 2.0


def test_a_probe_that_a_daemon_holds_is_left_alone(box, monkeypatch):
    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: pytest.fail("the bus was opened"))
    with only_one(box.data):
        found = looked(box)
    assert found["probe"].state is State.NOTE
    assert "being started" in found["probe"].said


def test_a_bus_that_cannot_be_opened_is_told_with_its_remedy(box, monkeypatch):
    def opened(settings, now_s):
        raise ProbeError("[probe] bus = '/dev/spidev9.9' can't be opened.", "Switch SPI on.")

    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: opened)
    found = looked(box)["probe"]
    assert (found.state, found.do) == (State.MEND, "Switch SPI on.")


def test_a_reversed_thermocouple_in_a_warm_kiln_is_suspected(box):
    # 45 °C at the tip and 25 °C at the chip, wires swapped: about 20 K below the chip instead of above.
    box.hot_c, box.reversed = 45.0, True
    found = looked(box)["polarity"]
    assert found.state is State.MEND
    assert "swapped" in found.said


@pytest.mark.parametrize(("cold_c", "processor_c", "state", "word"), [
    (25.0, 50.0, State.GOOD, "fits"),
    (25.0, None, State.GOOD, "no temperature of its own"),
    (58.0, 70.0, State.MEND, "too warm"),
    (44.0, 36.0, State.MEND, "do not fit"),
    (3.0, 70.0, State.MEND, "do not fit"),
    (-4.0, None, State.MEND, "do not fit"),
])
def test_the_cold_end_is_held_against_the_processor(cold_c, processor_c, state, word):
    found = next(one for one in findings(Look(20.0, cold_c), processor_c, "C") if one.part == "cold end")
    assert found.state is state
    assert word in found.said


def test_scatter_is_the_deviation_of_white_noise_whatever_the_kiln_does():
    # The mean of many estimates lies near the truth: 0.4 K on a climb of 300 °C/h read every second.
    draw = random.Random(5)
    estimates = [scatter_k([k * 300 / 3600 + draw.gauss(0.0, 0.4) for k in range(60)]) for _ in range(200)]
    assert sum(estimates) / len(estimates) == pytest.approx(0.4, rel=0.05)


def test_a_steady_climb_has_no_scatter_and_few_readings_tell_none():
    assert scatter_k([20.0 + k for k in range(20)]) == pytest.approx(0.0, abs=1e-9)
    assert scatter_k([20.0] * 5) is None


def test_mains_hum_beyond_the_limit_is_to_be_mended():
    hum = [500.0 + (3.0 if k % 2 else -3.0) for k in range(20)]
    assert all(abs(a - b) > NOISE_K for a, b in pairwise(hum))
    found = next(one for one in findings(Look(500.0, 25.0, None, hum), 50.0, "C") if one.part == "noise")
    assert found.state is State.MEND
    assert "mains" in found.do


def test_degrees_are_the_owner_s():
    found = findings(Look(100.0, 25.0), None, "F")
    assert found[0].said.startswith("It reads 212 °F")
    assert "77 °F" in found[1].said
