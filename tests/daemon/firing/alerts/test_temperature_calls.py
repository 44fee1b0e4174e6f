"""A call is made once, where it was asked for: climbing or falling, never for a spike, with or without a plan."""

from __future__ import annotations

from daemon.firing.alerts.temperature_calls import Calls
from daemon.firing.events import Call, Milestone, Said, Sample, Saying
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.units import Units
from daemon.glass.materials import FAMILIES


def _run(entries):
    state, told = begin(Setup(None, FAMILIES["90"])), []
    for entry in entries:
        state, events = step(state, entry)
        told += [e for e in events if isinstance(e, Milestone)]
    return state, told


def _ramp(from_s, temps):
    return [Sample(from_s + 5.0 * n, float(c)) for n, c in enumerate(temps)]


def test_a_call_is_made_once_when_the_kiln_climbs_to_it():
    call = Said(100.0, Saying.CALL, temp_c=640.0)
    climb = [*_ramp(0.0, range(600, 620)), call, *_ramp(100.0, range(620, 700))]
    state, told = _run(climb + _ramp(600.0, range(700, 600, -1)))
    assert [(m.name, m.t_s) for m in told] == [("call-640", 205.0)]  # 640 at 200 s, and a second reading
    assert told[0].text.startswith("640 °C, climbing: you asked to be called.")
    assert "may still be live" in told[0].text  # looking in carries its caution
    assert standing(state).calls == ()


def test_a_call_below_where_the_kiln_is_waits_for_the_fall():
    call = Said(100.0, Saying.CALL, temp_c=700.0)
    entries = [*_ramp(0.0, range(760, 780)), call, *_ramp(100.0, range(780, 690, -1))]
    _, told = _run(entries)
    assert [m.name for m in told] == ["call-700"]
    assert "falling" in told[0].text


def test_a_spike_calls_nobody_and_a_call_can_be_taken_back():
    spiky = [*_ramp(0.0, [500] * 10), Said(50.0, Saying.CALL, temp_c=640.0), *_ramp(50.0, [500, 900, 500, 900, 500])]
    state, told = _run(spiky)
    assert told == []
    assert standing(state).calls == (Call(640.0, rising=True),)
    state, _ = step(state, Said(80.0, Saying.CALL_OFF, temp_c=640.0))
    assert standing(state).calls == ()


def test_a_temperature_is_called_once_however_often_it_was_asked_and_the_oldest_of_nine_gives_way():
    calls = Calls(Units("C"))
    for temp_c in (640.0, 700.0, 640.0):
        calls.ask(Said(0.0, Saying.CALL, temp_c=temp_c), 600.0)
    assert [call.temp_c for call in calls.waiting] == [700.0, 640.0]
    for temp_c in range(701, 708):
        calls.ask(Said(0.0, Saying.CALL, temp_c=float(temp_c)), 600.0)
    assert [call.temp_c for call in calls.waiting] == [640.0, *(float(c) for c in range(701, 708))]
    calls.ask(Said(0.0, Saying.CALL), 600.0)  # without a temperature it says nothing
    assert len(calls.waiting) == 8


def test_two_readings_at_once_past_it_call():
    calls = Calls(Units("C"))
    calls.ask(Said(0.0, Saying.CALL, temp_c=640.0), None)
    assert calls.see(0.0, 650.0) == []
    assert [told.name for told in calls.see(5.0, 650.0)] == ["call-640"]
    assert calls.waiting == ()
