"""A kiln of two bodies wears by the equations themselves: what it was, since when, by how much, and in words."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from math import exp, log
from random import Random

import pytest

from daemon.firing.energy.thermal import Thermal
from daemon.firing.units import Units
from daemon.kiln.wear.judged import can_judge_elements, days_left, judged
from daemon.kiln.wear.shown import Shown, shown
from daemon.kiln.wear.told import wear_lines
from tests.daemon.kiln.conftest import FUSE, SLUMP, THICK, TRUE, fired

SINCE, COUNT = 8, 12
DAYS = [date(2026, 1, 5) + timedelta(days=8 * n) for n in range(COUNT)]


def worn(wear, true):
    """Return the kiln after the change."""
    if wear == "elements":
        return true._replace(power_k_per_s=0.88 * true.power_k_per_s)
    if wear == "lining":
        gives, gains, loses, leaks = true.thermal
        return true._replace(thermal=Thermal(gives, gains, 1.2 * loses, 1.2 * leaks))
    return true


@cache
def seen(wear, power_k_per_s=0.125):
    """Return what a dozen firings show, in which mains and room differ from night to night."""
    rng, past = Random(5), []
    for number in range(COUNT):
        true = TRUE._replace(power_k_per_s=power_k_per_s * rng.uniform(0.98, 1.02))
        one = fired((FUSE, SLUMP, THICK)[number % 3], worn(wear, true) if number >= SINCE else true, number,
                    room_c=19.0 + number % 4)
        off_k = 5.0 if wear == "probe" and number >= SINCE else 0.0
        past.append(replace(one, trace=[(t_s, temp_c + off_k) for t_s, temp_c in one.trace]))
    return shown(past)


def told(wear, **kiln):
    return list(wear_lines(seen(wear, **kiln), DAYS, judged(seen(wear, **kiln)), Units("C")))


def test_a_sound_kiln_has_not_changed():
    assert judged(seen("none")) is None
    assert told("none") == []


@pytest.mark.parametrize(("wear", "channel", "by"), [
    ("elements", "power", log(0.88)), ("probe", "probe_k", 5.0)])
def test_it_is_found_with_its_size(wear, channel, by):
    found = judged(seen(wear))
    assert (found.since, found.cause, found.channel) == (SINCE, wear, channel)
    assert found.difference.by == pytest.approx(by, rel=0.05)


def test_a_cracked_lining_is_told_from_tired_elements_though_it_climbs_more_slowly():
    found = judged(seen("lining"))
    assert found.cause == "lining"
    assert seen("lining")[-1].power < seen("none")[-1].power - 0.05
    assert exp(seen("lining")[-1].loss - seen("none")[-1].loss) == pytest.approx(1.2, abs=0.03)


@pytest.mark.parametrize(("wear", "words"), [
    ("elements", ("Since 10 March 2026 the elements give about 12 % less power than before (", "licensed person",
                  "If it is not chance, it is ")),
    ("lining", ("Since 10 March 2026 the kiln loses more heat than before", "harms lungs")),
    ("probe", ("about 5 °C higher in the holds than before (4 °C to 6 °C)", "compare it with a known temperature"))])
def test_it_is_said_with_figures_and_with_its_caution(wear, words):
    text = " ".join(told(wear))
    assert all(each in text for each in words), text
    assert "local code" in text


def test_a_short_time_of_less_power_may_be_the_mains():
    found, days = judged(seen("elements")), [date(2026, 1, 5) + timedelta(days=n) for n in range(COUNT)]
    assert "Weak mains" in next(iter(wear_lines(seen("elements"), days, found, Units("C"))))
    assert "Weak mains" not in told("elements")[0]


def test_of_a_kiln_that_never_took_all_its_power_nothing_is_said_of_the_elements():
    assert not can_judge_elements(seen("elements", power_k_per_s=0.4))
    assert told("elements", power_k_per_s=0.4) == [
        "No climb that is kept took all the power, so wear of the elements can't be told yet."]


def test_of_few_firings_nothing_is_said():
    few = seen("elements", power_k_per_s=0.4)[:5]
    assert list(wear_lines(few, DAYS[:5], judged(few), Units("C"))) == []


def tiring(lost_a_year, *, noise=0.002, needed=-0.3):
    """Return firings a fortnight apart whose power falls evenly, and their days."""
    rng = Random(2)
    days = [14.0 * n for n in range(12)]
    return [Shown(-lost_a_year * day / 365 + rng.gauss(0, noise), 0.0, 0.0, 800.0, needed) for day in days], days


def test_a_line_through_the_powers_says_when_the_climb_fails():
    """0.3 are to be lost, 0.2 a year: a year and a half from the first firing, less the 154 days since."""
    firings, days = tiring(0.2)
    assert days_left(firings, days) == pytest.approx(1.5 * 365 - 154, rel=0.1)


@pytest.mark.parametrize("lost_a_year", [0.0, 0.02, -0.2])
def test_powers_that_may_as_well_be_level_foretell_nothing(lost_a_year):
    assert days_left(*tiring(lost_a_year, noise=0.04)) is None


def test_one_step_foretells_nothing():
    firings, days = tiring(0.0)
    stepped = [one._replace(power=(one.power or 0.0) - 0.1 * (n >= 6)) for n, one in enumerate(firings)]
    assert days_left(stepped, days) is None


def test_the_time_until_the_climb_fails_is_said_in_months():
    firings, days = tiring(0.2)
    dates = [date(2026, 1, 5) + timedelta(days=day) for day in days]
    assert "At this rate the climb to 800 °C fails in about a year." in " ".join(
        wear_lines(firings, dates, None, Units("C")))
