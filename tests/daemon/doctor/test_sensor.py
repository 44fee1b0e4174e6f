"""``lehrling sensor check``: the doctor's own lines of the probe, and what is stated of its readings."""

from datetime import timedelta

import pytest

from daemon.doctor.finding import State
from daemon.doctor.probe_part import probe_findings
from daemon.doctor.sensor import LONGEST_S, check
from daemon.settings.config import Config
from daemon.store import kilns
from daemon.store.database import create_database
from daemon.store.wear import calibrations
from daemon.store.wear.calibrations import Calibration
from hw.thermocouple import Fault, ProbeError


def checked(box):
    result = check(box.places, box, box.computer)
    return result, {found.part: found for found in result.findings}


def compare(box, off_k, method="ice", reference_c=0.0, plus_minus_k=0.4):
    db = create_database(box.places.record)
    try:
        calibrations.add(db, Calibration(
            0, kilns.kiln_id(db, "Kiln"), None, "K", None, method, "", reference_c, reference_c + off_k, 25.0, 60,
            plus_minus_k, 0.2, 0.0, 0.0, 0.0, box.utc(), False), None)
    finally:
        db.close()


def test_it_says_what_the_doctor_says_of_the_probe(box):
    result, found = checked(box)
    doctor = probe_findings(box.places, Config(), box, box.computer, None, may_open=True)
    assert [one.part for one in doctor] == [one.part for one in result.findings if one.part != "set to"]
    assert found["set to"].said.startswith("Type K, mains of 50 Hz, 4 samples averaged.")
    assert result.is_good


def test_the_accuracy_is_stated_here_and_when_hot(box):
    _, found = checked(box)
    # A converter at 25 °C: 2/√3 · √(2.5² + 0.97² + 0.7²), IEC 60584-1 and the data sheet.
    assert found["accuracy"].said.startswith("± 3.2 °C (thermocouple 2.5, converter 1.0, cold end 0.7 at most; ")
    assert found["accuracy"].do.endswith("probe.tolerance_class 1")
    assert "± 6 °C at 516 °C, ± 8 °C at 800 °C" in found["accuracy when hot"].said
    assert "lehrling sensor calibrate ice" in found["comparison"].do


def test_a_class_that_is_set_is_reckoned_with_and_not_asked_for(box):
    box.places.settings.write_text("[probe]\ntolerance_class = 1\n")
    _, found = checked(box)
    assert found["accuracy"].state is State.GOOD
    assert "thermocouple 1.5" in found["accuracy"].said
    assert "type K, class 1" in found["accuracy"].said


@pytest.mark.parametrize(("off_k", "state"), [(2.4, State.GOOD), (-2.4, State.GOOD), (4.0, State.MEND)])
def test_a_comparison_farther_off_than_sound_parts_is_to_be_mended(box, off_k, state):
    compare(box, off_k)
    result, found = checked(box)
    assert found["comparison"].state is state
    assert f"{abs(off_k)} °C too {'high' if off_k > 0 else 'low'}, ± 0.4 °C" in found["comparison"].said
    assert result.is_good is (state is State.GOOD)


def test_of_each_method_the_latest_comparison_is_told(box):
    for off_k in (1.0, 2.0):
        compare(box, off_k)
    compare(box, 1.5, "hold", 516.0)
    result, _ = checked(box)
    told = [one.said for one in result.findings if one.part == "comparison"]
    assert len(told) == 2
    assert "ice slush" in told[0]
    assert "2.0 °C too high" in told[0]
    assert "1.5 °C too high" in told[1]


@pytest.mark.parametrize(("later_days", "plus_minus_k", "told"), [
    (30, 1.0, ["1.0", "2.0"]), (30, 0.45, ["2.0"]), (91, 1.0, ["2.0"])])
def test_a_surer_comparison_of_about_the_same_age_is_told_beside_the_latest(box, later_days, plus_minus_k, told):
    compare(box, 1.0)
    box.wall += timedelta(days=later_days)
    compare(box, 2.0, plus_minus_k=plus_minus_k)
    result, _ = checked(box)
    found = [one.said for one in result.findings if one.part == "comparison"]
    assert [f"{off} °C too high" in said for off, said in zip(told, found, strict=True)] == [True] * len(told)


def test_without_a_probe_the_one_reason_is_said_and_nothing_else(box):
    box.daemon_says(temp_c=None, fault="silent", trouble=[
        {"ailing": "probe", "text": "/dev/spidev0.0 does not exist."}])
    result, found = checked(box)
    assert [one.part for one in result.findings] == ["probe"]
    assert found["probe"].said == "/dev/spidev0.0 does not exist."


def test_a_converter_that_does_not_answer_has_no_setting_that_is_read_back(box):
    box.daemon_says(temp_c=None, fault=Fault.SILENT.value)
    assert "set to" not in checked(box)[1]


def test_where_it_cannot_be_opened_only_the_reason_is_said(box, monkeypatch):
    def none(settings, now_s):
        raise ProbeError("/dev/spidev0.0 does not exist.", "Switch the bus on.")

    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: none)
    result, found = checked(box)
    assert [one.part for one in result.findings] == ["probe"]
    assert found["probe"].said == "/dev/spidev0.0 does not exist."


def test_where_no_firing_is_open_the_daemon_is_listened_to_for_the_noise(box, monkeypatch):
    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: pytest.fail("the bus was opened"))
    box.daemon_says(now_s=0.0)
    ticks = iter(range(1, 100))

    def wait(deadline_s):
        box.s = max(box.s, deadline_s)
        n = next(ticks)
        box.daemon_says(now_s=5.0 * n, temp_c=21.5 + 0.1 * (n % 2))

    monkeypatch.setattr(box, "sleep_until", wait)
    _, found = checked(box)
    assert found["noise"].state is State.GOOD
    assert "scatter by" in found["noise"].said


def test_a_daemon_that_says_nothing_new_is_not_waited_for_for_ever(box):
    box.daemon_says(now_s=7.0)
    _, found = checked(box)
    assert found["noise"].state is State.NOTE
    assert box.s <= LONGEST_S + 2


def test_nothing_is_stated_of_a_probe_that_gives_no_temperature(box):
    box.open = True
    _, found = checked(box)
    assert "accuracy" not in found
    assert found["probe"].state is State.MEND


def test_degrees_are_the_owner_s(box):
    box.places.settings.write_text('[owner]\nunit = "F"\n')
    _, found = checked(box)
    assert found["accuracy"].said.startswith("± 5.8 °F")  # 3.2 K
    assert "at 961 °F" in found["accuracy when hot"].said


def test_a_class_that_is_none_costs_no_reading(box):
    box.places.settings.write_text("[probe]\ntolerance_class = 3\n")
    result, found = checked(box)
    assert "tolerance_class" in found["settings"].said
    assert not result.is_good
    assert found["accuracy"].said.endswith("taken as class 2.")
