"""A thermocouple at fault: what is found at an outage, at swapped wires and at neither; and its words."""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.detection.blindness import WAKE_AFTER_S, Outage, SwappedLeads
from daemon.firing.detection.steps.step_down import Drop
from daemon.firing.events import Line, Rank
from daemon.firing.example_firing import ANNEAL
from daemon.firing.kind import Finding
from daemon.firing.situation.probe_doubt import Cause, FalseReading
from daemon.firing.speaker import (
    CLOSE_LID,
    ELECTRIC,
    NOT_WATCHED,
    OWN_DISPLAY,
    SENSOR_OUTSIDE,
    STOP_THEN_CLOSE,
    Undone,
)
from daemon.firing.trace.recent import Trail
from daemon.firing.watches.readings_missing import KIND as MISSING
from daemon.firing.watches.sensor_fault import (
    KIND,
    Blind,
    ColderThanAir,
    ColderThanRoom,
    Elsewhere,
    HotterThanKiln,
    blind_text,
    sensor_fault,
)


def found_in(reading):
    return sensor_fault(reading, brittle_c=540.0)


def outage(lasted_s=60.0, *, is_fault=True, is_over=False):
    return Outage(600.0, lasted_s, 798.0, is_fault, is_over)


@pytest.mark.parametrize(("lasted_s", "dangerous", "rank"), [
    (60.0, True, Rank.LOOK),
    (WAKE_AFTER_S - 1.0, True, Rank.LOOK),
    (WAKE_AFTER_S, True, Rank.WAKE),
    (WAKE_AFTER_S, False, Rank.LOOK),
])
def test_a_probe_at_fault_wakes_after_four_minutes_where_that_can_cost_the_piece(
        reading_of, lasted_s, dangerous, rank):
    found = found_in(reading_of(900.0, None, outage=outage(lasted_s), is_blindness_dangerous=dangerous))
    assert found == Finding(KIND, rank, 600.0, Blind(lasted_s, 798.0))


def test_swapped_wires_are_a_look_however_long_and_whatever_they_could_cost(reading_of):
    swapped = SwappedLeads(60.0, -20.0)
    for t_s in (120.0, 36_000.0):
        found = found_in(reading_of(t_s, -20.0, outage=swapped, is_blindness_dangerous=True))
        assert found == Finding(KIND, Rank.LOOK, 60.0, ColderThanRoom(-20.0))


@pytest.mark.parametrize(("stays", "rank"), [(False, Rank.LOOK), (True, Rank.WAKE)])
def test_a_step_to_where_no_air_of_the_kiln_can_be_is_the_sensors_fault(reading_of, stays, rank):
    """A look at once, and a wake once it stays; a step to where air may be is a lid, which has a watch of its own."""
    drop = Drop(100.0, 800.0, 25.0, 775.0, stays=stays, not_air=True)
    found = found_in(reading_of(130.0, 25.0, drop=drop))
    assert found == Finding(KIND, rank, 100.0, ColderThanAir(800.0, 25.0, stays))
    assert found_in(reading_of(130.0, 700.0, drop=drop._replace(temp_c=700.0, not_air=False))) is None


@pytest.mark.parametrize(("dangerous", "rank"), [(True, Rank.WAKE), (False, Rank.LOOK)])
def test_readings_that_no_kiln_bears_are_a_wrong_type_and_wake_where_blindness_does(reading_of, dangerous, rank):
    for temp_c in (1763.0, 800.0, None):
        found = found_in(reading_of(9000.0, temp_c, too_hot_for_any=(7000.0, 1763.0),
                                    is_blindness_dangerous=dangerous))
        assert found == Finding(KIND, rank, 7000.0, HotterThanKiln(1763.0))
    text = KIND.words(found, example_firing.speaker())
    assert text.what == "Wrong sensor type? 1763 °C, too hot for any kiln."
    assert "Switch off at the isolator" in text.do
    assert text.do.endswith(ELECTRIC)


def test_what_was_read_before_such_a_step_is_the_last_that_is_believed():
    assert KIND.disbelieves(ColderThanAir(800.0, 25.0)) == FalseReading(Cause.FELL, 800.0)
    assert KIND.disbelieves(ColderThanRoom(-20.0)) == FalseReading(Cause.COLDER_THAN_ROOM)
    assert KIND.disbelieves(Blind(60.0, 798.0)) is None


def test_a_sensor_that_failed_sends_the_maker_to_the_kilns_own_display_and_to_no_lid():
    text = KIND.words(Finding(KIND, Rank.WAKE, 0.0, ColderThanAir(800.0, 25.0, stays=True)), example_firing.speaker())
    assert text.what == "Sensor failed or was pulled out? 25 °C, was 800 °C. It has not come back."
    assert "Read the kiln's own display." in text.do
    assert text.do.endswith(ELECTRIC)
    assert CLOSE_LID not in text.do


def test_no_outage_and_no_reading_at_all_are_no_sensor_fault(reading_of):
    assert found_in(reading_of(900.0, 700.0)) is None
    assert found_in(reading_of(900.0, None, outage=outage(is_fault=False))) is None


@pytest.mark.parametrize(("blind_s", "last_c", "what"), [
    (30.0, 798.0, "Nothing for 30 s: Lehrling is blind. The last was 798 °C."),
    (119.0, 798.0, "Nothing for 119 s: Lehrling is blind. The last was 798 °C."),
    (120.0, None, "Nothing for 2 min: Lehrling is blind."),
])
def test_blindness_is_told_in_seconds_at_first_and_with_the_last_temperature(blind_s, last_c, what):
    text = blind_text(Blind(blind_s, last_c), example_firing.speaker(), "Nothing", "A reason.")
    assert text.what == what
    assert text.meaning == f"A reason. The kiln may still be hot. {NOT_WATCHED}"
    assert text.do == f"{OWN_DISPLAY} {example_firing.speaker().display_tells()} {SENSOR_OUTSIDE} {ELECTRIC}"


def test_a_broken_probe_is_no_cold_kiln_and_swapped_wires_are_mended_cold_and_unplugged():
    speaker = example_firing.speaker()
    broken = KIND.words(Finding(KIND, Rank.LOOK, 0.0, Blind(30.0, 798.0)), speaker)
    assert broken.what.startswith("No temperature for 30 s: Lehrling is blind.")
    assert "The sensor failed. The kiln may still be hot." in broken.meaning
    swapped = KIND.words(Finding(KIND, Rank.LOOK, 0.0, ColderThanRoom(-5.0)), speaker)
    assert swapped.what == "Sensor reads -5 °C, colder than any studio."
    assert "Once the kiln is cold and unplugged" in swapped.do
    assert swapped.do.endswith(ELECTRIC)
    missing = MISSING.words(Finding(MISSING, Rank.LOOK, 0.0, Blind(30.0, 798.0)), speaker)
    assert missing.what.startswith("No reading for 30 s: Lehrling is blind.")


def stayed_down(reading_of, temp_c):
    """Return what is found 20 min after a step from 515 °C to ``temp_c``, in a kiln that does not fall on."""
    trail = Trail()
    for i in range(61):
        trail.add(1000.0 + 5.0 * i, temp_c)
    drop = Drop(100.0, 515.0, temp_c, 515.0 - temp_c, stays=True, not_air=False, is_elsewhere=True)
    return found_in(reading_of(1300.0, temp_c, trail=trail, drop=drop,
                               undone_at=lambda at_s: Undone(ANNEAL, at_s, temp_c)))


def test_a_drop_that_stays_over_cold_glass_still_stops_the_controller_before_the_lid_is_shut(reading_of):
    """What was said as the drop woke still holds: the same trouble goes on, and the glass is colder by now."""
    found = stayed_down(reading_of, 420.0)
    assert found.facts == Elsewhere(515.0, 420.0, None, is_cold=True, undone=Undone(ANNEAL, 100.0, 420.0))
    text = KIND.words(found, example_firing.speaker())
    assert text.acts[0] == STOP_THEN_CLOSE
    assert text.acts[1] == "Was it open? Key in these lines, then press start:"
    assert text.lines[0] == Line(pytest.approx(150.0, abs=5.0), 516.0, 3600.0)
    assert "Reheated fast, it cracks" in text.meaning
    assert NOT_WATCHED in text.meaning
    assert text.do.endswith(ELECTRIC)


def test_a_small_drop_that_stays_is_closed_from_outside(reading_of):
    found = stayed_down(reading_of, 480.0)  # 35 K: back before the glass has changed
    assert not found.facts.is_cold
    text = KIND.words(found, example_firing.speaker())
    assert CLOSE_LID in text.acts[0]
    assert "Is it far below and steady? The lid is open: reheat slowly." in text.acts[1]
    assert text.lines == ()
