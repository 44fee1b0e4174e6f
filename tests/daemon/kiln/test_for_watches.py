"""Firings of a kiln that fires by the equations themselves: what the watches are told of it, and make of it.

The kiln's equations are the outside here: a kiln of known figures is made to fire, and its figures must be found.
"""

from dataclasses import replace
from random import Random

import pytest

from daemon.firing.energy.known_kiln import KilnNow, KnownKiln
from daemon.firing.energy.thermal import Heat, heated
from daemon.firing.events import Rank, Sample
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from daemon.kiln.for_watches import LEAST_FIRINGS
from daemon.kiln.foresight import foresee
from daemon.kiln.learn import learn
from daemon.kiln.model_text import as_text, from_text, known_as_text, known_from_text
from daemon.kiln.past_firing import is_quiet
from tests.daemon.kiln.conftest import FUSE, SLUMP, THICK, TRUE, fired

KNOWN = KnownKiln(TRUE.thermal, TRUE.power_k_per_s, 0.0, 0.04)
STEEP = Plan("Steep, invented", "C", (Step(400, 800, 600), Step(None, 516, 3600), Step(80, 460), Step(None, 40)))
WEAK = TRUE._replace(power_k_per_s=0.7 * TRUE.power_k_per_s)


def learned(plans, true=TRUE, **changed):
    return learn([replace(fired(plan, true, seed=i), **changed) for i, plan in enumerate(plans)])


def told(plan, true, known):
    """Return the alerts of a firing by the equations, with a reading every 20 s, until its top."""
    rng, planned = Random(7), planned_parts(plan)
    ran = foresee(planned, true, 19.0, room_c=19.0)
    samples, at = [], 0
    until_s = next(part.end_s for part in ran.parts if planned[part.part].part == "hold")
    for t_s in range(0, int(until_s), 20):
        while at + 2 < len(ran.curve) and ran.curve[at + 1][0] < t_s:
            at += 1
        (a_s, a_c), (b_s, b_c) = ran.curve[at], ran.curve[at + 1]
        temp_c = a_c + (b_c - a_c) * max(0.0, t_s - a_s) / (b_s - a_s) + rng.gauss(0, 0.3)
        samples.append(Sample(float(t_s), temp_c, None, temp_c, temp_c))
    return judge(Setup(plan, FAMILIES["90"], kiln=known), samples).alerts


def test_firings_of_a_kiln_show_its_power_and_keep_to_it():
    found = learned([FUSE, SLUMP, THICK], TRUE._replace(power_k_per_s=0.125)).for_watches
    assert found.power_k_per_s == pytest.approx(0.125, rel=0.05)
    assert found.climb_off < 0.05


def test_too_few_firings_tell_the_watches_nothing():
    assert learned([FUSE] * (LEAST_FIRINGS - 1)).for_watches is None
    assert learned([FUSE] * LEAST_FIRINGS).for_watches is not None


def test_firings_in_which_something_was_told_are_none_of_the_usual_ones():
    assert learned([FUSE] * 5, is_quiet=False).for_watches is None
    mixed = learn([fired(FUSE, seed=1), fired(SLUMP, seed=2), fired(THICK, seed=3),
                   *(replace(fired(STEEP, WEAK, seed=i), is_quiet=False) for i in range(4, 9))]).for_watches
    assert mixed.power_k_per_s > 0.85 * TRUE.power_k_per_s


def test_climbs_that_differ_by_as_much_as_a_fault_tell_the_watches_nothing():
    waits = [TRUE._replace(waits_s_per_k=each) for each in (0.0, 40.0, 0.0, 40.0)]
    assert learn([fired(FUSE, each, seed=i) for i, each in enumerate(waits)]).for_watches is None


@pytest.mark.parametrize(("alerts", "quiet"), [
    ([], True), ([("not-climbing", "log")], True), ([("readings-missing", "look"), ("sudden-drop", "look")], True),
    ([("not-climbing", "look")], False), ([("readings-missing", "wake")], False)])
def test_a_firing_is_quiet_where_nothing_was_told_of_kiln_or_plan(alerts, quiet):
    assert is_quiet(alerts) is quiet


def test_the_text_of_a_known_kiln_comes_back_the_same():
    assert known_from_text(known_as_text(KNOWN)) == KNOWN
    model = learned([FUSE, SLUMP, THICK])
    assert from_text(as_text(model)) == model


@pytest.mark.parametrize("text", ["", "[]", "{}", known_as_text(KNOWN).replace("0.04", "NaN"),
                                  known_as_text(KNOWN._replace(power_k_per_s=-1.0))])
def test_a_text_that_is_no_kiln_is_none(text):
    assert known_from_text(text) is None


def test_the_walls_of_before_are_those_that_lead_to_the_present_ones():
    heat = Heat(400.0, 300.0)
    later = heated(TRUE.thermal, heat, 0.2, 600.0, 19.0)
    before = KilnNow(KNOWN, later.walls_c, 19.0).before(600.0, (heat.chamber_c + later.chamber_c) / 2)
    assert before.walls_c == pytest.approx(heat.walls_c, abs=3.0)


def test_a_kiln_weaker_than_ever_is_told_sooner():
    plain, knowing = (told(STEEP, WEAK, known) for known in (None, KNOWN))
    weaker = [alert for alert in knowing if alert.kind == "not-climbing"]
    assert "% of the power of its earlier firings" in weaker[0].text.meaning
    before = [alert.raised_s for alert in plain if alert.kind == "not-climbing"]
    assert weaker[0].raised_s < min(before, default=float("inf")) - 600


def test_a_kiln_as_weak_as_ever_is_told_more_quietly():
    tired = TRUE._replace(power_k_per_s=0.58 * TRUE.power_k_per_s)
    known = KNOWN._replace(power_k_per_s=tired.power_k_per_s)
    plain, knowing = ({alert.kind: alert for alert in told(STEEP, tired, each)} for each in (None, known))
    assert plain["not-climbing"].rank is Rank.WAKE
    assert knowing["not-climbing"].rank is Rank.LOOK
    assert knowing["not-climbing"].text.meaning.startswith("It climbs as in its earlier firings")


def test_an_element_that_fails_in_a_kiln_known_as_weak_is_told_as_before():
    failed = TRUE._replace(power_k_per_s=0.75 * 0.58 * TRUE.power_k_per_s)
    known = KNOWN._replace(power_k_per_s=0.58 * TRUE.power_k_per_s)
    plain, knowing = ([alert for alert in told(STEEP, failed, each) if alert.rank is Rank.WAKE]
                      for each in (None, known))
    assert plain[0].kind == knowing[0].kind == "not-climbing"
    assert knowing[0].woke_s <= plain[0].woke_s


def test_a_kiln_that_does_what_it_always_did_is_told_of_nothing():
    assert told(FUSE, TRUE, KNOWN) == ()


