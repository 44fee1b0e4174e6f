"""What an alert says: four parts, its caution, the owner's unit, and words a tired maker reads at 3 am."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

from daemon.firing import example_firing
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.firing.kind import Finding, Kind
from daemon.firing.speaker import CLOSED, ELECTRIC, LID
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from daemon.firing.watches import (
    cooling_too_fast,
    firing_stopped,
    hold_cut_short,
    over_temperature,
    readings_missing,
    restarted,
    sensor_fault,
)
from daemon.notify.alert_messages import Channel, rows_for

COOLING = "80 °C/h to 461 °C; then 150 °C/h to 406 °C; then off"
CASES = [pytest.param(kind, rank, example.facts, id=f"{kind.name}-{rank}-{number}")
         for kind in KINDS for number, example in enumerate(kind.examples) for rank in Rank]
JARGON = re.compile(
    r"\b(setpoint|set point|offset|threshold|deadband|anomal|dwell|soak|segment|follower|sensor|parameter|alarm|alert"
    r"|cleared|rank|band|isokom|viscosity|exceed|critical|warning|error|invalid|null|none|nan|inf|kelvin)\b",
    re.IGNORECASE)


def text(kind: Kind, facts: object, unit: str = "C", rank: Rank = Rank.WAKE, thickness_mm: float = 6.0) -> Text:
    return kind.words(Finding(kind, rank, 0.0, facts, 4), example_firing.speaker(unit, thickness_mm))


def example(kind: Kind, number: int = 0, unit: str = "C", thickness_mm: float = 6.0) -> Text:
    return text(kind, kind.examples[number].facts, unit, thickness_mm=thickness_mm)


def parts(found: Text) -> str:
    return " ".join((found.what, found.meaning, found.do))


def test_the_page_of_words_shows_what_every_example_says_now():
    docs = Path(__file__).parents[4] / "docs"
    spec = importlib.util.spec_from_file_location("lehrling_docs_words", docs / "words.py")
    words = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(words)
    assert words.page() == (docs / "words.md").read_text(encoding="utf-8"), "python docs/make.py writes it anew"


def test_every_kind_has_an_example_of_every_shape_of_its_facts():
    assert [kind.name for kind in KINDS if not kind.examples] == []
    assert {type(shown.facts) for shown in over_temperature.KIND.examples} == {
        over_temperature.TooHot, over_temperature.ThroughHold, over_temperature.Runaway}


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
    assert example(over_temperature.KIND, 0, "F").what == (
        "Too hot: 1526 °F, 54 °F above the plan's top of 1472 °F.")
    # 137 °C/h = 246.6, 55 °C/h = 99 °F/h, 500 °C = 932 °F.
    assert example(cooling_too_fast.KIND, 0, "F").what == (
        "Cooling too fast: 247 °F/h, planned 99 °F/h, now 932 °F.")


def test_a_runaway_is_said_as_it_is():
    found = example(over_temperature.KIND, 1)
    assert found.what == "Too hot: 812 °C, 12 °C above the plan's top of 800 °C, climbing 410 °C/h."
    assert found.do.startswith("Switch off at the isolator now; the controller's stop key may not do it")
    assert "Don't open the kiln" in found.do
    assert "licensed electrician" in found.do
    assert f"The glass still needs its anneal: as fast as it goes to 516 °C, hold 60 min; then {COOLING}." in found.do
    assert found.time_left_s == 0.0


def test_a_fast_cooling_says_how_long_until_it_is_past():
    found = example(cooling_too_fast.KIND, 0)
    assert found.what == "Cooling too fast: 137 °C/h, planned 55 °C/h, now 500 °C."
    assert found.meaning == (
        "At this rate about 0.2 to 0.7 MPa of stress stays in the glass, at the planned rate about 0.1 to 0.3 MPa; "
        "up to 1 is well annealed (flat, even glass; the lower figure where both faces cool). 6 mm ordinarily bears "
        "about 80 °C/h here (one cooled face, flat and even; uneven work less).")
    assert found.do.endswith(
        f"If it fell far, key in the anneal again: 150 °C/h to 516 °C, hold 60 min; then {COOLING}.")
    assert found.time_left_s == pytest.approx((500.0 - 438.6) / 137.0 * 3600)


def test_the_load_is_told_with_the_faces_it_really_cools_by():
    assert "both faces cooled" in example(cooling_too_fast.KIND, 1).meaning
    assert "one cooled face" in example(cooling_too_fast.KIND, 2).meaning
    assert "19 mm ordinarily" in example(cooling_too_fast.KIND, 2, thickness_mm=19.0).meaning


def test_a_stop_says_what_to_key_in_from_where_it_was_and_is():
    climbing, top, anneal = (example(firing_stopped.KIND, number) for number in range(3))
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
    climbing, above, below, cold, again, beyond = (example(restarted.KIND, number) for number in range(6))
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
    found = example(hold_cut_short.KIND, 0)
    assert found.what == "The anneal hold at 516 °C was skipped; now 505 °C."
    assert found.do.startswith("Stop what the controller runs and key in: 150 °C/h to 516 °C, "
                               f"hold 60 min; then {COOLING}.")


def test_blind_is_never_cold():
    for kind in (sensor_fault.KIND, readings_missing.KIND):
        found = example(kind)
        assert "not a cold kiln" in found.meaning
        assert found.do.startswith("Read the kiln's own display")
        assert "for 30 s; the last was 798 °C." in found.what
    assert "for 10 min." in example(sensor_fault.KIND, 1).what


def test_no_degree_is_less_than_nothing():
    assert Units("C").temp(-0.2) == "0 °C"
    assert Units("F").rate(-55.0) == "99 °F/h"
    assert Units("F").difference(10.0) == "18 °F"


@pytest.mark.parametrize(("kind", "rank", "facts"), CASES)
def test_what_a_phone_shows_locked_has_the_trouble_and_its_first_figure(kind, rank, facts):
    if rank is Rank.LOG:
        return
    for unit in "CF":
        found = text(kind, facts, unit, rank)
        alert = Alert(1, kind.name, rank, 0.0, 0.0, found, 0.0 if rank is Rank.WAKE else None)
        title = rows_for(AlertChanged(0.0, "raised", alert), "Bowl", [Channel("phone", Path("phone.url"))])[0].title
        assert len(title) <= 60
        assert re.search(r"\d", title), title
        assert not re.search(r"( to| and| at| the| of| for)…?$", title), title
