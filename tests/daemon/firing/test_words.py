"""What an alert says: four parts, its caution, the owner's unit, and words a tired maker reads at 3 am."""

from __future__ import annotations

import importlib.util
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from daemon.firing import example_firing
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Alert, AlertChanged, Line, Rank, Text
from daemon.firing.kind import Finding, Kind
from daemon.firing.situation.by_the_clock import ByClock
from daemon.firing.speaker import CLOSE_LID, CLOSED, ELECTRIC
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from daemon.firing.watches import (
    cooling_too_fast,
    firing_stopped,
    hold_cut_short,
    hold_overrun,
    over_temperature,
    reading_flickers,
    reading_frozen,
    readings_missing,
    restarted,
    sensor_fault,
    wrong_plan,
)
from daemon.notify.alert_messages import Channel, rows_for

COOLING = "80 °C/h to 461 °C; then 150 °C/h to 406 °C; then off"
JARGON = re.compile(
    r"\b(setpoint|set point|offset|threshold|deadband|anomal|dwell|soak|segment|follower|parameter|alarm|alert"
    r"|cleared|rank|band|isokom|viscosity|exceed|critical|warning|error|invalid|null|none|nan|inf|kelvin)\b",
    re.IGNORECASE)


def for_every_example(check: Callable[[Kind, Rank, object], None]) -> Callable[[Kind], None]:
    """Return a test of one kind that checks all of its examples at every rank; what fails says which it was."""
    def test(kind: Kind) -> None:
        assert kind.examples
        for number, shown in enumerate(kind.examples):
            for rank in Rank:
                try:
                    check(kind, rank, shown.facts)
                except Exception as failed:
                    failed.add_note(f"{kind.name}, {rank}, example {number}")
                    raise

    test.__name__ = check.__name__
    return pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)(test)


def text(kind: Kind, facts: object, unit: str = "C", rank: Rank = Rank.WAKE, thickness_mm: float = 6.0) -> Text:
    return kind.words(Finding(kind, rank, 0.0, facts, 4), example_firing.speaker(unit, thickness_mm))


def example(kind: Kind, number: int = 0, unit: str = "C", thickness_mm: float = 6.0) -> Text:
    return text(kind, kind.examples[number].facts, unit, thickness_mm=thickness_mm)


def parts(found: Text) -> str:
    return " ".join((found.what, found.meaning, found.do))


def test_the_page_of_words_shows_what_every_example_says_now():
    docs = Path(__file__).parents[3] / "docs"
    spec = importlib.util.spec_from_file_location("lehrling_docs_words", docs / "words.py")
    words = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(words)
    assert words.page() == (docs / "words.md").read_text(encoding="utf-8"), "python docs/make.py writes it anew"


def test_every_kind_has_an_example_of_every_shape_of_its_facts():
    assert [kind.name for kind in KINDS if not kind.examples] == []
    assert {type(shown.facts) for shown in over_temperature.KIND.examples} == {
        over_temperature.TooHot, over_temperature.ThroughHold, over_temperature.Runaway}


@for_every_example
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


@for_every_example
def test_what_asks_for_an_act_carries_its_caution_once_and_at_the_end(kind, rank, facts):
    found = text(kind, facts, rank=rank)
    if not found.do.startswith("Nothing"):
        assert found.do.endswith(ELECTRIC)
        assert found.do.count("gloves") == 1
    if re.search(r"\blid\b", found.do) and "Close it" in found.do:
        assert CLOSE_LID in found.do


@for_every_example
def test_a_question_has_the_order_of_words_of_one(kind, rank, facts):
    """Who learned English later hears a statement in "It obeys?", and does what stands behind it."""
    asked = re.findall(r"(?:^|[.?:;] )((?:It|They|The|That|This|You|Falling)\b[^.?:;]*\?)",
                       text(kind, facts, rank=rank).do)
    assert asked == []


@for_every_example
def test_at_most_three_acts_and_lines_to_key_in_follow_the_one_that_announces_them(kind, rank, facts):
    found = text(kind, facts, rank=rank)
    assert 1 <= len(found.acts) <= 3
    assert [number for number, act in enumerate(found.acts) if act.endswith(":")] == (
        [found.lines_after] if found.lines else [])
    keyed = Units("C").keyed(found.lines)
    said = [f"{act} {keyed}." if number == found.lines_after else act for number, act in enumerate(found.acts)]
    assert found.do == " ".join([*said, found.caution]).strip()


@for_every_example
def test_the_head_leaves_out_the_temperature_that_stands_beside_it(kind, rank, facts):
    found = text(kind, facts, rank=rank)
    assert found.head.endswith(".")
    here = getattr(facts, "temp_c", None)
    if here is not None and not isinstance(facts, (sensor_fault.ColderThanRoom, hold_cut_short.HoldCutShort)):
        assert f"{here:.0f} °C" not in found.head


@for_every_example
def test_lines_to_key_in_stand_in_the_controllers_unit_whatever_the_owner_reads(kind, rank, facts):
    finding = Finding(kind, rank, 0.0, facts, 4)
    found = kind.words(finding, example_firing.speaker("C", key_unit="F"))
    if found.lines:
        keyed = Units("F").keyed(found.lines)
        assert keyed in found.do
        assert "°C" not in keyed
        assert found.key_unit == "F"
    assert "°F" not in found.meaning + found.head.replace("set to °F", "")


NOT_SAID = re.compile(r"by this probe|\bstands\b|\bwas told\b|\ba wake\b|\bthe probe\b", re.IGNORECASE)


@for_every_example
def test_no_word_is_said_that_one_has_to_know_the_program_for(kind, rank, facts):
    found = text(kind, facts, rank=rank)
    assert not NOT_SAID.search(parts(found) + " " + found.head)
    assert not re.search(r"\b(wake|look|log)\b", found.what)


def test_the_cautions_say_what_protects_and_when_to_keep_away():
    for word in ("gloves", "dry hands", "Smoke", "burning smell", "Stay out", "fire service"):
        assert word in ELECTRIC
    for word in ("Gloves", "from outside", "never reach in", "may still be live"):
        assert word in CLOSE_LID
    assert "never open it hot" in CLOSED
    assert CLOSED.endswith(ELECTRIC)
    assert "not a safety device" in NO_SAFETY_DEVICE


@for_every_example
def test_words_are_plain_and_calm(kind, rank, facts):
    for unit in "CF":
        said = parts(text(kind, facts, unit, rank))
        assert "!" not in said
        assert not JARGON.search(said), JARGON.search(said)
        assert not re.search(r"-\d", said), "a sign says nothing at 3 am"
        said = re.sub(r"\d+\.\d to \d+\.\d MPa", "a range", said)
        assert not re.search(r"\d\.\d", said), "no probe is as good as a tenth"


@for_every_example
def test_an_owner_who_reads_fahrenheit_reads_no_other_unit(kind, rank, facts):
    celsius, fahrenheit = text(kind, facts, "C", rank), text(kind, facts, "F", rank)
    if isinstance(facts, wrong_plan.WrongUnit):
        return  # it names both units
    assert "°C" not in parts(fahrenheit)
    assert "°F" not in parts(celsius)
    assert parts(celsius).count("°C") == parts(fahrenheit).count("°F")
    assert fahrenheit.time_left_s == celsius.time_left_s


@for_every_example
def test_each_line_says_whether_the_kiln_goes_up_or_down_by_it(kind, rank, facts):
    found = text(kind, facts, rank=rank)
    assert not found.lines or found.keyed_from_c is not None
    at_c = found.keyed_from_c
    for line, said in zip(found.lines, Units("C").lines(found.lines, at_c), strict=True):
        moves_k = round(line.to_c) - round(at_c)
        assert said.way == ("" if said.rate == "off" or not moves_k else "up" if moves_k > 0 else "down")
        at_c = line.to_c


def test_what_a_line_does_is_not_guessed_where_the_kiln_is_not_known_nor_where_it_stays():
    lines = (Line(150.0, 516.0, 3600.0), Line(80.0, 515.8, 900.0), Line(80.0, 461.0), Line(None, 40.0))
    assert [row.arrow for row in Units("C").lines(lines)] == ["", "", "↓", ""]
    assert Units("C").listed(lines, 480.0) == [
        "↑ 150 °C/h to 516 °C, hold 60 min", "80 °C/h to 516 °C, hold 15 min", "↓ 80 °C/h to 461 °C", "off"]
    assert Units("C").lines(lines, 700.0)[0].way == "down"


def test_degrees_and_differences_become_the_right_fahrenheit():
    # 830 °C = 1526 °F, 800 °C = 1472 °F, but a difference of 30 °C is 54 °F (1.8 each, and 32 only for the scale).
    assert example(over_temperature.KIND, 0, "F").what == (
        "Kiln too hot, 1526 °F (top 1472 °F); isolator off. It is 54 °F above the plan's top.")
    # 137 °C/h = 246.6, 55 °C/h = 99 °F/h, 500 °C = 932 °F.
    assert example(cooling_too_fast.KIND, 0, "F").what == (
        "Cooling too fast, 247 °F/h, planned 99 °F/h. The kiln is at 932 °F.")


def test_a_runaway_is_said_as_it_is_and_its_anneal_waits_for_another_day():
    found = example(over_temperature.KIND, 1)
    assert found.what == (
        "Kiln too hot, 812 °C (top 800 °C); isolator off. It is 12 °C above the plan's top. It climbs 410 °C/h.")
    assert found.acts[0] == (
        "Switch off now at the isolator, the kiln's main switch. The controller's stop key may not do it: its own "
        "switch can stick.")
    assert "Don't open the kiln" in found.acts[1]
    assert "licensed electrician" in found.acts[2]
    assert "The glass still needs its anneal: another day" in found.acts[2]
    # Beside the isolator nothing is keyed in: who reads lines keys them in.
    assert found.lines == ()
    assert "key in" not in found.do
    assert found.time_left_s == 0.0


def test_a_fast_cooling_says_how_long_until_it_is_past():
    found = example(cooling_too_fast.KIND, 0)
    assert found.what == "Cooling too fast, 137 °C/h, planned 55 °C/h. The kiln is at 500 °C."
    assert found.meaning == (
        "Stress that stays in the glass: about 0.2 to 0.7 MPa (as planned: 0.1 to 0.3 MPa). Up to 1 MPa is well "
        "annealed. 6 mm usually bears about 80 °C/h here (one cooled face; estimate for flat, even glass; edges and "
        "uneven work are weaker).")
    # 489 °C: the strain point of family 90, isokom 13.5 of its viscosity.
    # In ten minutes, 23 K colder, so that nobody has to look which side of it the kiln is.
    assert ("By the time you arrive it is below 489 °C, so stop the controller. "
            "Key in these lines, then press start: "
            f"150 °C/h to 516 °C, hold 60 min; then {COOLING}.") in found.do
    assert found.time_left_s == pytest.approx((500.0 - 438.6) / 137.0 * 3600)


def test_the_load_is_told_with_the_faces_it_really_cools_by():
    assert "both faces cooled" in example(cooling_too_fast.KIND, 1).meaning
    assert "one cooled face" in example(cooling_too_fast.KIND, 2).meaning
    assert "19 mm usually" in example(cooling_too_fast.KIND, 2, thickness_mm=19.0).meaning


def test_a_stop_says_what_to_key_in_from_where_it_was_and_is():
    climbing, top, anneal = (example(firing_stopped.KIND, number) for number in range(3))
    rest = f"then as fast as it goes to 516 °C, hold 60 min; then {COOLING}."
    assert ("If it climbs to 800 °C, leave it. Else key in these lines, press "
            f"start: 250 °C/h to 800 °C, hold 10 min; {rest}") in climbing.do
    assert ("If it holds at 800 °C, leave it. Else key in these lines, press start: 250 °C/h to 800 °C, hold 6 min; "
            f"{rest}") in top.do
    assert ("Does it fall? Shut an open lid from outside, never reach in. Stop the controller. "
            f"Key in these lines, then press start: 150 °C/h to 516 °C, hold 60 min; then {COOLING}.") in anneal.do
    assert climbing.what == (
        "Kiln not heating (power off?), 560 °C and falling. It should be climbing. It fell from 600 °C.")


@pytest.mark.parametrize("kind", [firing_stopped.KIND, hold_cut_short.KIND])
def test_a_fall_that_wakes_is_first_looked_for_on_the_kilns_own_display(kind):
    """The sensor may have moved: who keys lines in at once breaks off a firing that goes on as planned."""
    first, keyed, dark = example(kind).acts
    assert first.startswith("Read the kiln's own display. Still in that step? Leave it")
    assert keyed.startswith("Does it fall? Shut an open lid from outside, never reach in.")
    assert keyed.endswith(":")
    assert "isolator" in dark
    assert "electrician" in dark


@pytest.mark.parametrize(
    "kind", [sensor_fault.KIND, reading_frozen.KIND, reading_flickers.KIND, readings_missing.KIND])
def test_what_is_blind_says_what_to_do_for_every_display_of_the_kiln(kind):
    """Near its plan, far too hot and dark: one owner says it for all four."""
    assert example(kind).acts[1] == example_firing.speaker().display_tells()
    for state in ("near its plan there?", "far above it, steady or climbing?", "isolator", "far below and steady?",
                  "close the lid from outside, never reach in", "or dark?"):
        assert state in example(kind).acts[1]


def test_a_blind_text_names_where_the_plan_is_by_its_clock_where_that_is_known():
    def acts(low_c: float, high_c: float, unit: str = "C") -> str:
        return text(sensor_fault.KIND, sensor_fault.Blind(600.0, 800.0, clock=ByClock(low_c, high_c)), unit).acts[1]

    assert acts(516.0, 516.0).startswith("By its clock the plan is at about 516 °C now. Is it near that there?")
    assert acts(516.0, 605.0).startswith("By its clock the plan is at 516 to 605 °C now.")
    assert acts(516.0, 516.0, "F").startswith("By its clock the plan is at about 961 °F now.")  # 516·9/5 + 32


def test_a_hold_that_goes_on_says_what_to_do_with_a_controller_that_does_not_obey():
    top, other, anneal = (example(hold_overrun.KIND, number) for number in range(3))
    assert "haze" in top.meaning
    assert "Switch off at the isolator" in top.acts[-1]
    assert "needs its anneal" in top.acts[-1]
    assert "needs its anneal" in other.acts[-1]
    assert anneal.acts[-1].endswith("leave the kiln closed. The glass has had its anneal hold.")
    assert "haze" not in other.meaning + anneal.meaning
    assert "no harm" in anneal.meaning
    assert "no harm" not in top.meaning


def test_where_nothing_is_known_of_before_it_names_the_rate_in_the_controllers_unit():
    unknown = Finding(restarted.KIND, Rank.WAKE, 0.0, restarted.KIND.examples[4].facts)
    found = restarted.KIND.words(unknown, example_firing.speaker("C"))
    # 6 mm of family 90, fused: 150 °C/h, as the lines above have it; brittle below 540 °C.
    assert "Below 540 °C climb no faster than 150 °C/h" in found.do
    in_f = restarted.KIND.words(unknown, example_firing.speaker("C", key_unit="F"))
    assert "Below 1004 °F climb no faster than 270 °F/h" in in_f.do


def test_a_stop_has_time_until_the_anneal_is_lost_and_none_where_nothing_is_lost():
    climbing, _, anneal = (example(firing_stopped.KIND, number) for number in range(3))
    assert climbing.time_left_s is None
    # Past the anneal's 516 °C it can still be saved until about 370 °C, at 300 °C/h.
    assert anneal.time_left_s == pytest.approx((500.0 - 370.0) / 300.0 * 3600)
    falling = firing_stopped.FiringStopped(700.0, 600.0, 300.0, 516.0, is_climb=False, undone=firing_stopped.Undone(
        example_firing.ANNEAL, 0.0, 600.0))
    assert text(firing_stopped.KIND, falling).time_left_s == pytest.approx((600.0 - 516.0) / 300.0 * 3600)


def test_power_that_is_back_says_the_temperatures_first_and_then_the_lines():
    climbing, above, below, cold, again, beyond = (example(restarted.KIND, number) for number in range(6))
    assert climbing.what == "Power is probably back, kiln is reheating, 640 °C. It fell from 790 °C to 610 °C."
    assert climbing.meaning.startswith("It stopped on the climb to 800 °C. Nothing is lost yet.")
    assert above.what == "Power was off, kiln is at 606 °C, was 700 °C."
    assert above.do.startswith("Stop the controller. Key in these lines, then press start: as fast as it goes to "
                               f"516 °C, hold 60 min; then {COOLING}.")
    assert above.time_left_s == pytest.approx((606.0 - 516.0) / 360.0 * 3600)
    assert f"press start: 150 °C/h to 516 °C, hold 60 min; then {COOLING}." in below.do
    assert cold.do.startswith(
        "Controller off, kiln closed. Another day, from cold, key in these lines: 150 °C/h to 516 °C")
    assert cold.is_for_later
    assert again.what == "The controller began again, kiln climbs, 300 °C."
    assert beyond.acts[0].startswith("Switch off at the isolator, the kiln's main switch, unless the controller")
    assert "Did it stop there? Key in these lines, then press start: as fast as it goes to 516 °C" in beyond.do


def test_dark_power_back_says_in_one_sentence_what_waiting_costs_by_its_own_figures():
    _, above, climbs, cold, _, _ = (example(restarted.KIND, number) for number in range(6))
    assert above.head == (
        "The power was off and is back. If the controller begins again, it goes to the top a second time.")
    # The rate is that of the first line to key in, for 6 mm.
    assert climbs.head == "The power was off and is back. Reheated faster than 150 °C/h, the glass may crack."
    assert climbs.lines[0].rate_c_per_h == 150.0
    assert climbs.time_left_s is None
    assert cold.head == "The power was off and is back. The kiln was at 516 °C."  # too late: nothing hurries
    facts = restarted.Restarted(450.0, 450.0, 516.0, restarted.Undone(example_firing.ANNEAL, 1200.0, 450.0), 516.0,
                                dark=True, fall_c_per_h=200.0)
    falls = text(restarted.KIND, facts)
    assert falls.head == "The power was off and is back. Below about 370 °C it is too cold to save tonight."
    assert falls.time_left_s == pytest.approx((450.0 - 370.0) / 200.0 * 3600)
    assert "Below about 698 °F" in text(restarted.KIND, facts, "F").head  # 370 °C


def test_power_that_is_back_is_stopped_where_what_the_controller_does_harms():
    facts = restarted.Restarted(430.0, 400.0, 516.0, firing_stopped.Undone(example_firing.ANNEAL, 0.0, 430.0))
    assert text(restarted.KIND, facts).what.startswith("Power is probably back, kiln is reheating, 430 °C; stop it.")


def test_a_skipped_anneal_says_what_to_key_in():
    found = example(hold_cut_short.KIND, 0)
    assert found.what == "Anneal was skipped, kiln is at 505 °C and cooling. The plan holds 516 °C for 60 min."
    assert found.acts[1].endswith("Stop the controller. Key in these lines, then press start:")
    assert f"150 °C/h to 516 °C, hold 60 min; then {COOLING}." in found.do


def test_blind_is_never_cold():
    for kind in (sensor_fault.KIND, readings_missing.KIND):
        found = example(kind)
        assert "The kiln may still be hot." in found.meaning
        assert found.do.startswith("Read the kiln's own display")
        assert "for 30 s: Lehrling is blind. The last was 798 °C." in found.what
    assert "for 10 min:" in example(sensor_fault.KIND, 1).what
    assert example(readings_missing.KIND, 1).what == "No reading for 24 hours: Lehrling is blind."


def test_no_degree_is_less_than_nothing():
    assert Units("C").temp(-0.2) == "0 °C"
    assert Units("F").rate(-55.0) == "99 °F/h"
    assert Units("F").difference(10.0) == "18 °F"


@for_every_example
def test_what_a_phone_shows_locked_has_the_trouble_and_its_first_figure(kind, rank, facts):
    if rank is Rank.LOG:
        return
    for unit in "CF":
        found = text(kind, facts, unit, rank)
        alert = Alert(1, kind.name, rank, 0.0, 0.0, found, 0.0 if rank is Rank.WAKE else None)
        title = rows_for(AlertChanged(0.0, "raised", alert), "Bowl", [Channel("phone", Path("phone.url"))])[0].title
        assert len(title) <= 60
        assert title.startswith("GET UP: " if rank is Rank.WAKE else "Look in the morning: ")
        if kind is not wrong_plan.KIND and rank is Rank.WAKE:
            assert re.search(r"\d", title), title
            assert not title.endswith("…"), title
        assert not re.search(r"( to| and| at| the| of| for)…?$", title), title


def test_a_difference_of_rates_is_that_of_the_two_as_they_are_shown():
    # 83.6 and 146.4 are shown as 84 and 146; in °F as 150 and 264.
    assert Units("C").rate_between(83.6, 146.4) == "62 °C/h"
    assert Units("F").rate_between(83.6, -146.4) == "114 °F/h"
    assert Units("F").rate(83.6) == "150 °F/h"
    assert Units("F").rate(-146.4) == "264 °F/h"
