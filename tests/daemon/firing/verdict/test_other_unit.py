"""A stored answer in the other unit says what it would have said in that unit, to the degree it was rounded to."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from daemon.firing.units import Units
from daemon.firing.verdict.answer import Answer, Result
from daemon.firing.verdict.answer_values import ClimbRate, CoolingRates, Temperature
from daemon.firing.verdict.other_unit import in_unit
from daemon.firing.verdict.verdict_words import in_words
from tests.daemon.firing.verdict.test_verdict_words import ALL, CLIMB, COOLED, HOLD, TOP

HOT = replace(HOLD, result=Result.PARTLY, measured=replace(HOLD.measured, mean_c=528.0))
MORE = (replace(TOP, result=Result.NO, measured=Temperature(811.0)), HOT,
        replace(COOLED, result=Result.NO, measured=CoolingRates((122.0,), 122.0)),
        replace(CLIMB, result=Result.NO, measured=ClimbRate(692.0, 438.5, 391.0)))


def figures(text: str | None) -> list[float]:
    return [float(found) for found in re.findall(r"\d+(?:\.\d+)?", text or "")]


@pytest.mark.parametrize("answer", [*ALL, *MORE])
@pytest.mark.parametrize(("stored", "read", "off"), [("C", "F", 1.0), ("F", "C", 1.0)])
def test_it_says_what_it_would_have_said_in_that_unit(answer: Answer, stored: str, read: str, off: float) -> None:
    told, right = in_unit(in_words(answer, Units(stored)), read), in_words(answer, Units(read))
    for got, wanted in ((told.answer, right.answer), (told.measured, right.measured), (told.asked, right.asked)):
        assert re.sub(r"[\d.]+", "#", got or "") == re.sub(r"[\d.]+", "#", wanted or "")
        assert figures(got) == pytest.approx(figures(wanted), abs=off)


def test_what_is_in_the_unit_already_stays_as_it_is() -> None:
    told = in_words(MORE[0], Units("F"))
    assert in_unit(told, "F") == told


def test_a_level_a_difference_and_a_rate_are_each_told_by_their_own_rule() -> None:
    # 800 °C = 1472 °F; a difference of 11 K = 19.8 °F; 692 °C/h = 1245.6 °F/h.
    assert in_unit(in_words(MORE[0], Units("C")), "F").answer == "20 °F above."
    assert in_unit(in_words(MORE[0], Units("C")), "F").asked == "1472 °F"
    assert in_unit(in_words(MORE[-1], Units("C")), "F").answer.startswith("No, 1246 °F/h from 736 °F after")
