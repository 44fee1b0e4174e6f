"""``lehrling sensor`` on the command line, with a chip of registers and a clock that is not waited for."""

import json
import sys
from datetime import UTC, datetime
from io import StringIO

import pytest

from daemon.cli import main
from daemon.doctor import kiln_now, live_probe, own_look
from daemon.service.state_reader import DaemonState
from daemon.store.database import open_database
from hw.bus import Bus
from hw.max31856 import Max31856
from simulations.plant.chip import Chip, Terminals
from simulations.plant.thermocouple import emf_mv


class Table:
    """The command line at a table with a thermocouple whose tip a test puts somewhere."""

    def __init__(self, folder, capsys, record):
        self.folder, self._capsys = folder, capsys
        self.s, self.hot_c = 0.0, 0.5
        self.chip = Chip(lambda: Terminals(emf_mv("K", self.hot_c) - emf_mv("K", 24.0), 24.0), lambda: self.s,
                         noise_mv=0.0)
        (folder / "lehrling.db").write_bytes(record)

    def wait(self, seconds):
        self.s += seconds

    def opened(self, settings, now_s):
        return Max31856(Bus(self.chip.transfer), now_s=lambda: self.s, sleep=self.wait)

    def __call__(self, *words):
        code = main(["sensor", *words, "--data", str(self.folder), "--run", str(self.folder)])
        told = self._capsys.readouterr()
        return code, told.out, told.err

    def json(self, *words):
        code, out, err = self(*words, "--json")
        assert err == ""
        return code, json.loads(out)


@pytest.fixture
def table(tmp_path, capsys, monkeypatch, empty_database):
    found = Table(tmp_path, capsys, empty_database)
    monkeypatch.setattr(own_look, "opener", lambda kind: found.opened)
    monkeypatch.setattr("daemon.clock.SystemClock.now_s", lambda clock: found.s)
    monkeypatch.setattr("daemon.clock.SystemClock.sleep_until",
                        lambda clock, deadline_s: setattr(found, "s", max(found.s, deadline_s)))
    return found


def test_a_check_has_a_line_for_each_part(table):
    table.hot_c = 22.0
    code, out, _ = table("check")
    assert code == 0
    assert "good  set to " in out
    assert "note  accuracy " in out
    assert out.endswith("Nothing is to be mended. This is a helper, not a safety device.\n")


def test_a_check_as_json_has_the_findings_of_the_doctor(table):
    table.hot_c = 1400.0  # no type K is so hot
    code, found = table.json("check")
    assert (code, found["good"]) == (1, False)
    assert {"part", "state", "said", "do"} == set(found["findings"][0])


def test_ice_is_compared_kept_and_listed(table):
    code, out, _ = table("calibrate", "ice")
    assert code == 0
    assert out.startswith("Kiln cold, and unplugged or its isolator off.")
    assert "It reads 0.5 °C too high, ± 0.2 °C (k = 2: reference 0.2" in out
    assert "It changes no reading, past or to come." in out
    assert "do not prove 516 °C or 800 °C" in out
    assert ": read 0.5 °C, should be 0.0 °C: 0.5 °C too high, ± 0.2 °C\n" in table("calibrate", "list")[1]


def test_what_is_kept_is_complete_as_json(table):
    code, kept = table.json("calibrate", "ice")
    assert (code, kept["number"], kept["method"], kept["within"]) == (0, 1, "ice", True)
    assert kept["off_k"] == pytest.approx(0.5, abs=0.02)
    assert set(kept["standard_k"]) == {"reference", "noise", "steadiness", "step"}
    assert table.json("calibrate", "list")[1]["calibrations"][0]["number"] == 1


def test_boiling_water_is_known_by_altitude_in_metres_or_feet_or_by_pressure(table):
    table.hot_c = 95.0
    # 1500 m are 4921 feet; the standard atmosphere has 845.6 hPa there (ISO 2533, from memory).
    found = [table.json("calibrate", "boiling", *place)[1]["reference_c"] for place in (
        ("--altitude-m", "1500"), ("--altitude-ft", "4921.26"), ("--pressure-hpa", "845.6"))]
    assert found == pytest.approx([found[0]] * 3, abs=0.01)
    assert found[0] == pytest.approx(95.0, abs=0.1)  # the table of docs/install.md


def test_a_hold_is_compared_in_either_unit(table):
    table.hot_c = 520.0
    assert table.json("calibrate", "hold", "--other-c", "516")[1]["off_k"] == pytest.approx(4.0, abs=0.05)
    code, beside = table.json("calibrate", "hold", "--other-f", "960.8", "--beside", "--other-within-c", "2")
    assert (code, beside["reference_c"]) == (0, pytest.approx(516.0))
    assert beside["plus_minus_k"] < 4.0


def test_a_decimal_comma_is_read_as_in_the_settings(table):
    table.hot_c = 520.0
    assert table.json("calibrate", "hold", "--other-c", "516,5", "--other-within-c", "1,5")[1]["reference_c"] == 516.5
    table.hot_c = 100.0
    assert table.json("calibrate", "boiling", "--altitude-m=-12,5")[1]["reference_c"] > 100.0


def test_a_comparison_that_is_too_vague_is_not_called_good(table):
    table.hot_c = 520.0
    code, out, _ = table("calibrate", "hold", "--other-c", "516")
    assert (code, "this comparison is too vague to tell" in out, "good" in out) == (0, True, False)
    assert "too vague to tell" in table("check")[1]
    assert table.json("calibrate", "hold", "--other-c", "516")[1]["within"] is None
    assert ": good." in table("calibrate", "hold", "--other-c", "516", "--beside")[1]


def daemon_says(table, monkeypatch, temp_c, **said):
    """Let a daemon go on saying a temperature, with the present time at each look."""
    def state(*_):
        table.s += 5.0
        return DaemonState({"temp_c": temp_c, "now_s": table.s, **said}, datetime.now(UTC), 0.0)

    for module in (kiln_now, live_probe):
        monkeypatch.setattr(module, "read_daemon_state", state)


@pytest.mark.parametrize("words", [("ice",), ("boiling", "--altitude-m", "300")])
@pytest.mark.parametrize(("temp_c", "said", "told"), [
    (470.0, {"t_s": 9000.0}, "a firing is open"), (21.0, {"t_s": 60.0}, "a firing is open"),
    (470.0, {"t_s": None}, "it reads 470 °C: it seems to be in a hot kiln")])
def test_a_bath_is_refused_at_once_while_the_kiln_is_fired_or_hot(table, monkeypatch, words, temp_c, said, told):
    daemon_says(table, monkeypatch, temp_c, **said)
    code, out, err = table("calibrate", *words)
    assert (code, out, told in err) == (2, "", True)
    assert table.s <= 15.0  # three looks


def test_without_a_probe_nobody_prepares_anything_and_the_reason_is_said(table, monkeypatch):
    daemon_says(table, monkeypatch, None, trouble=[{"ailing": "probe", "text": "/dev/spidev0.0 does not exist."}])
    code, out, err = table("calibrate", "ice")
    assert (code, out, "/dev/spidev0.0 does not exist." in err) == (2, "", True)


@pytest.mark.parametrize(("held_s", "told", "early"), [(600.0, "for 1", True), (2400.0, "for 4", False)])
def test_a_comparison_in_a_hold_says_for_how_long_that_had_gone_on(table, monkeypatch, held_s, told, early):
    daemon_says(table, monkeypatch, 518.0, t_s=9000.0 + held_s, part={"part": "hold", "start_s": 9000.0})
    out = table("calibrate", "hold", "--other-c", "516", "--early")[1]
    assert f"The kiln had been in this hold {told}0 min." in out
    assert ("Repeat it after 30 min" in out) is early
    daemon_says(table, monkeypatch, 518.0, t_s=9000.0, part={"part": "ramp", "start_s": 8000.0})
    assert "had been in this hold" not in table("calibrate", "hold", "--other-c", "516")[1]


@pytest.mark.parametrize("words", [(), ("--json",)])
def test_an_early_comparison_is_refused_where_nobody_can_be_asked_and_nothing_is_kept(table, monkeypatch, words):
    daemon_says(table, monkeypatch, 518.0, t_s=9600.0, part={"part": "hold", "start_s": 9000.0})
    code, out, err = table("calibrate", "hold", "--other-c", "516", *words)
    assert (code, out) == (2, "")
    assert "the kiln has been in this hold for 10 min only" in err
    assert "Come back in 20 min, or add --early to compare now." in err
    assert table.json("calibrate", "list")[1]["calibrations"] == []


@pytest.mark.parametrize(("typed", "kept"), [("y\n", 1), ("Yes\n", 1), ("n\n", 0), ("\n", 0), ("", 0)])
def test_an_early_comparison_is_asked_about_at_a_terminal_before_it_is_made(table, monkeypatch, typed, kept):
    class Terminal(StringIO):
        def isatty(self):
            return True

    daemon_says(table, monkeypatch, 518.0, t_s=9600.0, part={"part": "hold", "start_s": 9000.0})
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    code, out, _ = table("calibrate", "hold", "--other-c", "516")
    assert out.startswith("The kiln has been in this hold for 10 min only.")
    assert (code == 0, "Kept as number 1" in out) == (bool(kept), bool(kept))
    assert len(table.json("calibrate", "list")[1]["calibrations"]) == kept


def test_a_comparison_late_in_a_hold_is_not_asked_about(table, monkeypatch):
    daemon_says(table, monkeypatch, 518.0, t_s=10_800.0, part={"part": "hold", "start_s": 9000.0})
    code, out, _ = table("calibrate", "hold", "--other-c", "516")
    assert (code, "Type y or n" in out) == (0, False)


def test_a_thermocouple_that_is_farther_off_than_sound_parts_is_to_be_mended(table):
    table.hot_c = 6.0
    code, out, _ = table("calibrate", "ice")
    assert code == 1
    assert "MEND. Repeat it" in out


@pytest.mark.parametrize(("words", "told"), [
    (("ice",), "it reads 20 °C. Ice slush is at 0 °C."),
    (("boiling", "--altitude-m", "30000"), "too far up or down. Is it in feet?"),
    (("boiling", "--pressure-hpa", "101"), "no pressure of the air"),
    (("hold", "--other-c", "22"), "no hold of a hot kiln"),
    (("hold", "--other-c", "516", "--other-within-c", "0"), "outside 0 to 30"),
    (("hold", "--other-c", "5x"), "--other-c: '5x' is not a number"),
    (("undo", "7"), "there is no such comparison"),
])
def test_what_cannot_be_is_refused_in_a_sentence_and_nothing_is_kept(table, words, told):
    table.hot_c = 20.0
    code, _, err = table("calibrate", *words)
    assert code == 2
    assert told in err
    assert table.json("calibrate", "list")[1] == {"calibrations": []}


def test_a_comparison_goes_out_of_use_and_back_and_never_away(table):
    table("calibrate", "ice")
    assert "It stays in the record" in table("calibrate", "undo", "1")[1]
    assert table("calibrate", "list")[1].endswith("out of use\n")
    assert "has not been compared" in table("check")[1]
    assert table("calibrate", "redo", "1")[1] == "In use again.\n"
    assert "By ice slush on " in table("check")[1]


def test_without_a_record_nobody_is_left_standing_with_hot_water(table):
    (table.folder / "lehrling.db").unlink()
    code, out, err = table("calibrate", "boiling", "--altitude-m", "300")
    assert (code, out) == (2, "")
    assert "Start lehrling daemon first" in err
    assert table.s == 0.0


def test_an_empty_list_says_how_to_begin(table):
    assert table("calibrate", "list") == (0, "Nothing has been compared yet: lehrling sensor calibrate ice\n", "")


def test_no_reading_is_changed_by_a_comparison(table):
    table.hot_c = 4.0
    table("calibrate", "ice")
    assert "It reads 4 °C." in table("check")[1]
    db = open_database(table.folder / "lehrling.db", readonly=True)
    try:
        assert [name for name in db.table_names() if not name.startswith(("_", "written"))
                and db.table(name).count] == [
            "kiln", "calibration"]
    finally:
        db.close()


def test_progress_is_shown_on_a_terminal_only(table, monkeypatch):
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    _, out, err = table("calibrate", "ice")
    assert "100 % of a minute" in err
    assert "of a minute" not in out
