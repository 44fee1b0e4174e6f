"""What an alert says: four parts, its caution, the owner's unit, and words a tired maker reads at 3 am."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from daemon.firing.alerts.relations import TIMINGS
from daemon.firing.alerts.texts import CLOSED, ELECTRIC, KINDS, LID, Wording
from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.recovery.recovery import Mender
from daemon.firing.situation.view import Finding
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.glass.materials import FAMILIES
from daemon.notify.alert_messages import Channel, rows_for

ONE_MPA = {"one_mpa_1_c_per_h": 196.6, "one_mpa_2_c_per_h": 786.6}
"""6 mm of family 90: 3·2κ(1−ν)/(1.7·Eα·L²), see tests/daemon/glass."""
PLAN = Plan("Full fuse", "C", (
    Step(220.0, 620.0), Step(50.0, 670.0, 1800.0, "squeeze"), Step(250.0, 800.0, 600.0),
    Step(None, 516.0, 3600.0, "anneal"), Step(80.0, 461.0), Step(150.0, 406.0), Step(None, 40.0)))
PARTS = planned_parts(PLAN)
MENDER = Mender(PARTS, anneal_hold(PARTS, FAMILIES["90"]), FAMILIES["90"], 6.0, 1)
TOP_RAMP, TOP, ANNEAL = 3.0, 4.0, 6.0
COOLING = "80 °C/h to 461 °C; then 150 °C/h to 406 °C; then off"
FACTS: dict[str, list[dict[str, float]]] = {
    "over-temperature": [
        {"temp_c": 830.0, "over_c": 30.0, "highest_c": 800.0},
        {"temp_c": 812.0, "over_c": 12.0, "highest_c": 800.0, "rate_c_per_h": 410.0},
        {"temp_c": 795.0, "over_c": -5.0, "highest_c": 800.0, "rate_c_per_h": 900.0},
        {"temp_c": 690.0, "hold_c": 670.0, "rate_c_per_h": 220.0},
        {"temp_c": 569.0, "rate_c_per_h": 700.0, "fastest_c_per_h": 250.0},
    ],
    "cooling-too-fast": [
        {"fall_c_per_h": 137.0, "planned_c_per_h": 55.0, "bears_c_per_h": 80.0, "temp_c": 500.0, "faces": 1.0,
         "band_low_c": 438.6, "in_band": 1.0, **ONE_MPA},
        {"fall_c_per_h": 300.0, "bears_c_per_h": 80.0, "temp_c": 500.0, "faces": 2.0, "band_low_c": 438.6,
         "in_band": 1.0, **ONE_MPA},
        {"fall_c_per_h": 300.0, "planned_c_per_h": 90.0, "bears_c_per_h": 150.0, "temp_c": 420.0, "faces": 1.0,
         "band_low_c": 438.6, "in_band": 0.0, **ONE_MPA},
    ],
    "not-cooling": [
        {"rate_c_per_h": 60.0, "planned_c_per_h": 80.0, "temp_c": 700.0, "to_c": 516.0, "climbing": 1.0},
        {"rate_c_per_h": -1.0, "planned_c_per_h": 80.0, "temp_c": 490.0, "to_c": 461.0, "climbing": 0.0},
    ],
    "firing-stopped": [
        {"from_c": 600.0, "temp_c": 560.0, "fall_c_per_h": 500.0, "to_c": 670.0, "anneal_c": 516.0, "climbing": 1.0,
         "anneal": 0.0, "undone": TOP_RAMP, "held_s": 0.0, "here_c": 560.0},
        {"from_c": 800.0, "temp_c": 770.0, "fall_c_per_h": 800.0, "to_c": 800.0, "anneal_c": 0.0, "climbing": 0.0,
         "anneal": 0.0, "undone": TOP, "held_s": 240.0, "here_c": 770.0},
        {"from_c": 516.0, "temp_c": 500.0, "fall_c_per_h": 300.0, "to_c": 516.0, "anneal_c": 516.0, "climbing": 0.0,
         "anneal": 1.0, "undone": ANNEAL, "held_s": 1200.0, "here_c": 500.0},
    ],
    "hold-cut-short": [
        {"held_s": 0.0, "asked_s": 3600.0, "hold_c": 516.0, "temp_c": 505.0, "anneal": 1.0, "band_low_c": 438.6,
         "undone": ANNEAL, "here_c": 505.0},
        {"held_s": 900.0, "asked_s": 1800.0, "hold_c": 670.0, "temp_c": 680.0, "anneal": 0.0, "band_low_c": 438.6},
    ],
    "hold-overrun": [{"over_s": 1200.0, "asked_s": 600.0, "hold_c": 800.0, "temp_c": 801.0}],
    "hold-off-target": [
        {"off_c": -14.0, "hold_c": 516.0, "temp_c": 502.0, "usual_c": 0.0, "anneal": 1.0},
        {"off_c": 9.0, "hold_c": 516.0, "temp_c": 525.0, "usual_c": 0.0, "anneal": 1.0},
        {"off_c": 9.0, "hold_c": 670.0, "temp_c": 679.0, "usual_c": 0.0, "anneal": 0.0},
    ],
    "heating-too-fast": [{"rate_c_per_h": 400.0, "planned_c_per_h": 150.0, "temp_c": 300.0, "thickness_mm": 6.0,
                          "brittle_below_c": 540.0}],
    "not-climbing": [{"temp_c": 640.0, "to_c": 800.0, "rate_c_per_h": 1.0, "flat_s": 1900.0}],
    "not-started": [{"temp_c": 21.0, "waited_s": 2700.0}],
    "restarted": [
        {"temp_c": 640.0, "lowest_c": 610.0, "from_c": 790.0, "first_step": 0.0, "anneal_c": 516.0, "dark": 0.0,
         "undone": TOP_RAMP, "held_s": 0.0, "here_c": 640.0},
        {"temp_c": 606.0, "lowest_c": 606.0, "from_c": 700.0, "first_step": 0.0, "anneal_c": 516.0, "dark": 1.0,
         "undone": 5.0, "held_s": 0.0, "here_c": 606.0, "fall_c_per_h": 360.0},
        {"temp_c": 450.0, "lowest_c": 448.0, "from_c": 516.0, "first_step": 0.0, "anneal_c": 516.0, "dark": 1.0,
         "undone": ANNEAL, "held_s": 1200.0, "here_c": 450.0, "fall_c_per_h": 0.0},
        {"temp_c": 350.0, "lowest_c": 348.0, "from_c": 516.0, "first_step": 0.0, "anneal_c": 516.0, "dark": 1.0,
         "undone": ANNEAL, "held_s": 1200.0, "here_c": 350.0, "fall_c_per_h": 0.0},
        {"temp_c": 300.0, "lowest_c": 298.0, "from_c": 300.0, "first_step": 1.0, "anneal_c": 0.0, "dark": 0.0},
        {"temp_c": 530.0, "lowest_c": 498.0, "from_c": 516.0, "first_step": 1.0, "anneal_c": 516.0, "dark": 0.0,
         "undone": ANNEAL, "held_s": 1200.0, "here_c": 530.0, "beyond": 1.0},
    ],
    "sudden-drop": [
        {"from_c": 800.0, "temp_c": 700.0, "drop_c": 100.0, "stays": 0.0},
        {"from_c": 800.0, "temp_c": 700.0, "drop_c": 100.0, "stays": 1.0},
    ],
    "haze-range": [{"haze_s": 4200.0, "low_c": 700.0, "high_c": 760.0, "planned_s": 1800.0}],
    "wrong-plan": [{"first_c": 354.0, "first_asked_c": 354.4, "last_c": 428.0, "last_asked_c": 426.7, "in_f": 1.0,
                    "stops": 2.0},
                   {"first_c": 573.0, "first_asked_c": 573.2, "last_c": 573.0, "last_asked_c": 573.2, "stops": 1.0,
                    "type": 1.0, "first_true_c": 670.0, "last_true_c": 670.0}],
    "sensor-fault": [{"blind_s": 30.0, "last_c": 798.0}, {"blind_s": 600.0}],
    "readings-missing": [{"blind_s": 30.0, "last_c": 798.0}, {"blind_s": 86_400.0}],
}
CASES = [pytest.param(kind, rank, facts, id=f"{kind}-{rank}-{number}")
         for kind, all_facts in FACTS.items() for number, facts in enumerate(all_facts) for rank in Rank]
JARGON = re.compile(
    r"\b(setpoint|set point|offset|threshold|deadband|anomal|dwell|soak|segment|follower|sensor|parameter|alarm|alert"
    r"|cleared|rank|band|isokom|viscosity|exceed|critical|warning|error|invalid|null|none|nan|inf|kelvin)\b",
    re.IGNORECASE)


def text(kind: str, facts: dict[str, float], unit: str = "C", rank: Rank = Rank.WAKE,
         thickness_mm: float = 6.0) -> Text:
    return Wording(unit, thickness_mm, MENDER).text(Finding(kind, rank, 0.0, 4, facts))


def parts(found: Text) -> str:
    return " ".join((found.what, found.meaning, found.do))


def test_every_kind_is_tried_here():
    assert set(FACTS) == set(KINDS)
    assert set(TIMINGS) <= set(KINDS)


@pytest.mark.parametrize(("kind", "rank", "facts"), CASES)
def test_three_parts_are_whole_sentences_and_the_time_is_a_time(kind, rank, facts):
    found = text(kind, facts, rank=rank)
    for part in (found.what, found.meaning, found.do):
        assert part == part.strip()
        assert part[0].isupper() or part[0].isdigit()
        assert part.endswith(".")
        assert "  " not in part
        assert len(part) < 620
    assert re.search(r"\d", found.what), "what happened wants its figures"
    assert found.time_left_s is None or 0 <= found.time_left_s < 86_400


@pytest.mark.parametrize(("kind", "rank", "facts"), CASES)
def test_what_asks_for_an_act_carries_its_caution(kind, rank, facts):
    found = text(kind, facts, rank=rank)
    asks_nothing = found.do.startswith("Nothing")
    assert asks_nothing or any(caution in found.do for caution in (ELECTRIC, LID, CLOSED))
    if re.search(r"[Cc]lose it|lid", found.do) and not asks_nothing:
        assert LID in found.do or CLOSED in found.do


def test_the_cautions_say_what_protects_and_when_to_keep_away():
    for word in ("gloves", "dry hands", "smells or smokes", "call for help"):
        assert word in ELECTRIC
    for word in ("from outside", "gloves", "hands never inside", "may not cut the current"):
        assert word in LID
    assert "never open it hot" in CLOSED
    assert "not a safety device" in NO_SAFETY_DEVICE


@pytest.mark.parametrize(("kind", "rank", "facts"), CASES)
def test_words_are_plain_and_calm(kind, rank, facts):
    for unit in "CF":
        said = parts(text(kind, facts, unit, rank))
        assert "!" not in said
        assert not JARGON.search(said), JARGON.search(said)
        assert not re.search(r"-\d", said), "a sign says nothing at 3 am"
        said = re.sub(r"about \d+\.\d to \d+\.\d MPa", "a range", said)
        assert not re.search(r"\d\.\d", said), "no probe is as good as a tenth"


@pytest.mark.parametrize(("kind", "rank", "facts"), CASES)
def test_an_owner_who_reads_fahrenheit_reads_no_other_unit(kind, rank, facts):
    celsius, fahrenheit = text(kind, facts, "C", rank), text(kind, facts, "F", rank)
    assert "°C" not in parts(fahrenheit)
    assert "°F" not in parts(celsius)
    assert parts(celsius).count("°C") == parts(fahrenheit).count("°F")
    assert fahrenheit.time_left_s == celsius.time_left_s


def test_degrees_and_differences_become_the_right_fahrenheit():
    # 830 °C = 1526 °F, 800 °C = 1472 °F, but a difference of 30 °C is 54 °F (1.8 each, and 32 only for the scale).
    assert text("over-temperature", FACTS["over-temperature"][0], "F").what == (
        "Too hot: 1526 °F, 54 °F above the plan's top of 1472 °F.")
    # 137 °C/h = 246.6, 55 °C/h = 99 °F/h, 500 °C = 932 °F.
    assert text("cooling-too-fast", FACTS["cooling-too-fast"][0], "F").what == (
        "Cooling too fast: 247 °F/h, planned 99 °F/h, now 932 °F.")


def test_a_runaway_is_said_as_it_is():
    found = text("over-temperature", FACTS["over-temperature"][1])
    assert found.what == "Too hot: 812 °C, 12 °C above the plan's top of 800 °C, climbing 410 °C/h."
    assert found.do.startswith("Switch off at the isolator now; the controller's stop key may not do it")
    assert "Don't open the kiln" in found.do
    assert "licensed electrician" in found.do
    assert f"The glass still needs its anneal: as fast as it goes to 516 °C, hold 60 min; then {COOLING}." in found.do
    assert found.time_left_s == 0.0


def test_a_fast_cooling_says_how_long_until_it_is_past():
    found = text("cooling-too-fast", FACTS["cooling-too-fast"][0])
    assert found.what == "Cooling too fast: 137 °C/h, planned 55 °C/h, now 500 °C."
    assert found.meaning == (
        "At this rate about 0.2 to 0.7 MPa of stress stays in the glass, at the planned rate about 0.1 to 0.3 MPa; "
        "up to 1 is well annealed (flat, even glass; the lower figure where both faces cool). 6 mm ordinarily bears "
        "about 80 °C/h here (one cooled face, flat and even; uneven work less).")
    assert found.do.endswith(
        f"If it fell far, key in the anneal again: 150 °C/h to 516 °C, hold 60 min; then {COOLING}.")
    assert found.time_left_s == pytest.approx((500.0 - 438.6) / 137.0 * 3600)


def test_the_load_is_told_with_the_faces_it_really_cools_by():
    assert "both faces cooled" in text("cooling-too-fast", FACTS["cooling-too-fast"][1]).meaning
    assert "one cooled face" in text("cooling-too-fast", FACTS["cooling-too-fast"][2]).meaning
    assert "19 mm ordinarily" in text("cooling-too-fast", FACTS["cooling-too-fast"][2], thickness_mm=19.0).meaning


def test_a_stop_says_what_to_key_in_from_where_it_was_and_is():
    climbing, top, anneal = (text("firing-stopped", facts) for facts in FACTS["firing-stopped"])
    rest = f"then as fast as it goes to 516 °C, hold 60 min; then {COOLING}. Leave the kiln closed"
    assert ("With power back: if the controller goes on with step 3 by itself, leave it; if not, key in: "
            f"250 °C/h to 800 °C, hold 10 min; {rest}") in climbing.do
    assert f"key in: 250 °C/h to 800 °C, hold 6 min; {rest}" in top.do
    assert ("With power back: stop what the controller runs and key in: 150 °C/h to 516 °C, "
            f"hold 60 min; then {COOLING}.") in anneal.do
    assert climbing.what == "Falling from 600 °C to 560 °C, 500 °C/h, although it should be climbing."
    assert climbing.time_left_s == pytest.approx((560.0 - 516.0) / 500.0 * 3600)
    assert top.time_left_s is None


def test_power_that_is_back_says_the_temperatures_first_and_then_the_lines():
    climbing, above, below, cold, again, beyond = (text("restarted", facts) for facts in FACTS["restarted"])
    assert climbing.what == "It climbs again, now 640 °C, after falling from 790 °C to 610 °C."
    assert climbing.meaning.startswith("It broke off on the climb to 800 °C: nothing is lost yet")
    assert above.what == "Power was off: the kiln fell from 700 °C to 606 °C, now 606 °C."
    assert above.do.startswith("Stop what the controller runs and key in: as fast as it goes to "
                               f"516 °C, hold 60 min; then {COOLING}.")
    assert above.time_left_s == pytest.approx((606.0 - 516.0) / 360.0 * 3600)
    assert f"key in: 150 °C/h to 516 °C, hold 60 min; then {COOLING}." in below.do
    assert cold.do.startswith("Controller off, kiln closed. Another day, from cold, key in: 150 °C/h to 516 °C")
    assert again.what == "It climbs again, now 300 °C, from the plan's first step."
    assert beyond.do.startswith("Switch off at the isolator, unless the controller shows a climb of its own")
    assert "If it obeys: stop what the controller runs and key in: as fast as it goes to 516 °C" in beyond.do


def test_a_skipped_anneal_says_what_to_key_in():
    found = text("hold-cut-short", FACTS["hold-cut-short"][0])
    assert found.what == "The anneal hold at 516 °C was skipped; now 505 °C."
    assert found.do.startswith("Stop what the controller runs and key in: 150 °C/h to 516 °C, "
                               f"hold 60 min; then {COOLING}.")


def test_blind_is_never_cold():
    for kind in ("sensor-fault", "readings-missing"):
        found = text(kind, FACTS[kind][0])
        assert "not a cold kiln" in found.meaning
        assert found.do.startswith("Read the kiln's own display")
        assert "for 30 s; the last was 798 °C." in found.what
    assert "for 10 min." in text("sensor-fault", FACTS["sensor-fault"][1]).what


def test_no_degree_is_less_than_nothing():
    assert Wording("C", 6.0).temp(-0.2) == "0 °C"
    assert Wording("F", 6.0).rate(-55.0) == "99 °F/h"
    assert Wording("F", 6.0).difference(10.0) == "18 °F"


@pytest.mark.parametrize(("kind", "rank", "facts"), CASES)
def test_what_a_phone_shows_locked_has_the_trouble_and_its_first_figure(kind, rank, facts):
    if rank is Rank.LOG:
        return
    for unit in "CF":
        found = text(kind, facts, unit, rank)
        alert = Alert(1, kind, rank, 0.0, 0.0, found, 0.0 if rank is Rank.WAKE else None)
        title = rows_for(AlertChanged(0.0, "raised", alert), "Bowl", [Channel("phone", Path("phone.url"))])[0].title
        assert len(title) <= 60
        assert re.search(r"\d", title), title
        assert not re.search(r"( to| and| at| the| of| for)…?$", title), title
