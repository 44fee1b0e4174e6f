"""The sounder and lamp at the kiln: what sounds, what only lights, and that neither stops the watch."""

from __future__ import annotations

import sys
import types
from dataclasses import replace

import pytest

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.firing.events import Alert, Rank, Text
from daemon.service.kiln_alarm import KilnAlarm, call, open_kiln_alarm
from hw.sounder import GpioSounder, Sounder, open_gpio
from simulations.studio.sounder import BenchSounder

WAKE = Alert(1, "cooling-too-fast", Rank.WAKE, 0.0, 0.0, Text("", "", ""), woke_s=0.0)
LOOK = replace(WAKE, rank=Rank.LOOK, woke_s=None)
RUNAWAY = replace(WAKE, kind="over-temperature")


def pattern(*alerts, now_s=100.0, troubled=False, hot=True, seconds=60):
    return [call(t_s, alerts, now_s, troubled=troubled, hot=hot).sound for t_s in range(seconds)]


def test_a_wake_sounds_until_it_is_answered_or_over():
    assert any(pattern(WAKE))
    assert not any(pattern(replace(WAKE, acknowledged_s=90.0, quiet_until_s=690.0)))
    assert any(pattern(replace(WAKE, acknowledged_s=90.0, quiet_until_s=690.0), now_s=700.0))
    assert not any(pattern(replace(WAKE, cleared_s=99.0)))


def test_a_look_lights_the_lamp_and_makes_no_noise():
    assert not any(pattern(LOOK))
    assert call(0, [LOOK], 0.0, troubled=False, hot=True).lamp
    assert not call(0, [replace(LOOK, rank=Rank.LOG)], 0.0, troubled=False, hot=True).lamp


def test_a_runaway_sounds_whatever_was_said():
    assert any(pattern(replace(RUNAWAY, acknowledged_s=90.0, quiet_until_s=1e9)))


@pytest.mark.parametrize("alert", [WAKE, RUNAWAY])
def test_it_is_not_the_three_short_pulses_that_mean_fire(alert):
    sounds = pattern(alert, seconds=48)
    runs = "".join("x" if on else " " for on in sounds).split()
    assert {len(run) for run in runs} <= {2, 3}  # long and even: seconds, not halves, and no pause after three
    gaps = "".join(" " if on else "x" for on in sounds).split()
    assert len({len(gap) for gap in gaps}) == 1


def test_its_own_trouble_sounds_once_a_minute_while_the_kiln_is_hot():
    assert sum(pattern(troubled=True)) == 1
    assert not any(pattern(troubled=True, hot=False))


class Pin:
    def __init__(self):
        self.value, self.gone = None, False

    def deinit(self):
        self.gone = True


@pytest.mark.parametrize("active_low", [False, True])
def test_pins_are_off_at_first_switch_as_told_and_are_off_at_the_end(active_low):
    sound, lamp = Pin(), Pin()
    sounder = GpioSounder(sound, lamp, active_low=active_low)
    assert (sound.value, lamp.value) == (active_low, active_low)
    sounder.show(sound=True, lamp=False)
    assert (sound.value, lamp.value) == (not active_low, active_low)
    sounder.close()
    assert (sound.value, lamp.value, sound.gone, lamp.gone) == (active_low, active_low, True, True)


def test_a_pin_may_be_missing():
    lamp = Pin()
    GpioSounder(None, lamp).show(sound=True, lamp=True)
    assert lamp.value is True


def test_every_sounder_keeps_the_protocol(tmp_path):
    assert isinstance(GpioSounder(None, None), Sounder)
    assert isinstance(BenchSounder(tmp_path / "log"), Sounder)


def test_the_pins_of_the_board_are_opened_by_their_names(monkeypatch):
    pin = Pin()
    monkeypatch.setitem(sys.modules, "board", types.SimpleNamespace(D17="17"))
    monkeypatch.setitem(sys.modules, "digitalio", types.SimpleNamespace(
        DigitalInOut=lambda place: pin, Direction=types.SimpleNamespace(OUTPUT="out")))
    open_gpio(Fields({"pin": "D17"}, "[sounder] ")).show(sound=True, lamp=True)
    assert (pin.value, pin.direction) == (True, "out")
    bell = open_kiln_alarm({"kind": "gpio", "lamp_pin": "D27"})
    assert "[sounder]: lamp_pin D27 is not on this board." in bell.trouble[0]


def test_a_pin_that_another_program_holds_leaves_the_kiln_watched(monkeypatch):
    def busy(place):
        raise RuntimeError("GPIO busy")
    monkeypatch.setitem(sys.modules, "board", types.SimpleNamespace(D17="17"))
    monkeypatch.setitem(sys.modules, "digitalio", types.SimpleNamespace(
        DigitalInOut=busy, Direction=types.SimpleNamespace(OUTPUT="out")))
    bell = open_kiln_alarm({"kind": "gpio", "pin": "D17"})
    assert "[sounder]: pin D17 can't be switched (GPIO busy)" in bell.trouble[0]


def test_a_lamp_that_is_busy_leaves_the_sounder_s_pin_free_for_the_next_try(monkeypatch):
    pin = Pin()

    def opened(place):
        if place == "27":
            raise RuntimeError("GPIO busy")
        return pin

    monkeypatch.setitem(sys.modules, "board", types.SimpleNamespace(D17="17", D27="27"))
    monkeypatch.setitem(sys.modules, "digitalio", types.SimpleNamespace(
        DigitalInOut=opened, Direction=types.SimpleNamespace(OUTPUT="out")))
    assert "lamp_pin D27 can't be switched" in open_kiln_alarm(
        {"kind": "gpio", "pin": "D17", "lamp_pin": "D27"}).trouble[0]
    assert pin.gone


@pytest.mark.parametrize(("settings", "told"), [
    ({"kind": "gong"}, "'gong' is not installed. Installed: bench, gpio."),
    ({"kind": "gpio"}, "pin: missing"), ({"kind": "gpio", "loud": 3}, "loud: unknown key"),
    ({"kind": "gpio", "pin": "D17", "active_low": 1}, "is not true or false"), ({"kind": "bench"}, "file: missing"),
])
def test_a_sounder_that_cannot_be_is_left_out_and_told_with_the_remedy(settings, told):
    bell = open_kiln_alarm(settings)
    bell.ring(call(0, [WAKE], 0.0, troubled=False, hot=True))
    assert "There is no sounder at the kiln." in bell.trouble[0]
    assert told in bell.trouble[0]


def test_a_sounder_that_could_not_be_opened_is_tried_again_every_minute(tmp_path):
    folder = tmp_path / "later"
    bell = open_kiln_alarm({"kind": "bench", "file": str(folder / "sounder.log")})
    wanted = call(0, [WAKE], 0.0, troubled=False, hot=True)
    for _ in range(60):
        bell.ring(wanted)
    assert "It is tried again every minute." in bell.trouble[0]
    folder.mkdir()
    for _ in range(59):
        bell.ring(wanted)
    assert bell.trouble != []
    bell.ring(wanted)
    assert bell.trouble == []
    assert (folder / "sounder.log").read_text() == "sound lamp\n"


def test_a_sounder_that_fails_is_told_and_stops_nothing():
    class Broken:
        name, works = "broken", False

        def show(self, *, sound, lamp):
            if not self.works:
                raise OSError("pin gone")

        def close(self):
            raise OSError("pin gone")

    sounder = Broken()
    bell = KilnAlarm(sounder)
    wanted = call(0, [WAKE], 0.0, troubled=False, hot=True)
    bell.ring(wanted)
    assert bell.trouble == ["The sounder at the kiln can't be switched (pin gone). It will not wake you."]
    sounder.works = True
    bell.ring(wanted)
    assert bell.trouble == []
    bell.close()


def test_a_trial_sounds_as_what_must_wake_and_ends_by_itself(tmp_path):
    bell = open_kiln_alarm({"kind": "bench", "file": str(tmp_path / "sounder.log")})
    bell.try_out(1000.0)
    assert (tmp_path / "sounder.log").read_text() == "sound lamp\n"
    assert [bell.is_tried(s) for s in (1000.0, 1007.0, 1008.0)] == [True, True, False]
    sounds = [call(t_s, [], 0.0, troubled=False, hot=False, tried=True).sound for t_s in range(8)]
    assert sounds == pattern(WAKE, seconds=8)
    assert call(0, [], 0.0, troubled=False, hot=False, tried=True).lamp


def test_a_trial_of_what_is_not_there_or_fails_says_why():
    with pytest.raises(BadInput, match="none is set at the kiln"):
        open_kiln_alarm(None).try_out(0.0)
    with pytest.raises(BadInput, match="'gong' is not installed"):
        open_kiln_alarm({"kind": "gong"}).try_out(0.0)

    class Broken:
        name = "broken"

        def show(self, *, sound, lamp):
            raise OSError("pin gone")

    bell = KilnAlarm(Broken())
    with pytest.raises(BadInput, match="can't be switched \\(pin gone\\)"):
        bell.try_out(0.0)
    assert not bell.is_tried(1.0)


def test_the_bench_writes_down_what_would_sound(tmp_path):
    bell = open_kiln_alarm({"kind": "bench", "file": str(tmp_path / "sounder.log")})
    for t_s in range(6):
        bell.ring(call(t_s, [WAKE], 100.0, troubled=False, hot=True))
    bell.close()
    assert (tmp_path / "sounder.log").read_text().splitlines() == [
        "sound lamp", "silent lamp", "sound lamp", "silent dark"]
