"""A climb at 300 °C/h to 800 °C in a kiln whose losses are set by hand, so that its power is known beforehand.

The kiln has walls as warm as its chamber and no leak, so that it loses nothing: its power is its slope, by the
definition of the two bodies (daemon/firing/energy/thermal.py).
"""

from dataclasses import replace

import pytest

from daemon.firing.detection.known_climb import Beside, known_climb
from daemon.firing.energy.known_kiln import KilnNow, KnownKiln
from daemon.firing.energy.thermal import Thermal
from daemon.firing.events import Part

TIGHT = Thermal(1e-9, 1e-9, 1e-9, 1e-9)
LEAKY = TIGHT._replace(exchange_per_s=1 / 3600)
"""Walls that are warmer give the chamber one K/h for each kelvin, and have so much heat that they stay so."""
KNOWN = KnownKiln(TIGHT, 300 / 3600, 0.0, 0.04)
CLIMB = 3
"""The follower's state in FUSE's climb to 800 °C."""


def climbing(view_of, along, *rates, from_c=620.0, known=KNOWN, began_s=0.0):
    """Return the view after ten minutes at each of the rates [°C/h]."""
    corners = [(0.0, from_c)]
    for rate in rates:
        corners.append((corners[-1][0] + 600, corners[-1][1] + rate / 6))
    found = (Part(2, 2, "ramp", began_s, None, None, None),)
    return view_of(along(*corners), CLIMB, found=found, wander_k=0.1,
                   kiln=None if known is None else KilnNow(known, corners[-1][1], 20.0))


@pytest.mark.parametrize(("rates", "beside"), [
    ((300, 300, 300), Beside.AS_EVER), ((300, 290, 285), Beside.AS_EVER), ((300, 210, 200), Beside.WEAKER),
    ((300, 100, 60), Beside.WEAKER), ((200, 200, 300), Beside.AS_EVER), ((200, 300, 200), Beside.BETWEEN),
    ((300, 272, 270), Beside.BETWEEN), ((300, -200, -150), Beside.BETWEEN)])
def test_two_stretches_that_climb_without_their_power_are_weaker(view_of, along, rates, beside):
    view = climbing(view_of, along, *rates)
    assert known_climb(view, view.part).beside is beside


def test_its_share_is_the_power_it_takes_over_what_is_due(view_of, along):
    view = climbing(view_of, along, 300, 210, 210)
    assert known_climb(view, view.part).share == pytest.approx(0.7, abs=0.01)


def test_a_kiln_that_can_do_no_more_is_held_against_what_it_can(view_of, along):
    known = KNOWN._replace(power_k_per_s=200 / 3600)
    view = climbing(view_of, along, 200, 200, 200, known=known)
    assert known_climb(view, view.part).beside is Beside.AS_EVER


def test_a_controller_that_always_waits_is_not_weaker(view_of, along):
    known = KNOWN._replace(waits_s_per_k=6.0)  # 3600 / (3600 / 300 + 6) is 200 °C/h
    view = climbing(view_of, along, 200, 200, 200, known=known)
    assert known_climb(view, view.part).share == pytest.approx(1.0, abs=0.01)


def test_a_kiln_that_would_hardly_arrive_is_never_as_ever(view_of, along):
    known = KNOWN._replace(power_k_per_s=10 / 3600)
    view = climbing(view_of, along, 10, 10, 10, known=known)
    assert known_climb(view, view.part).beside is Beside.BETWEEN


def test_near_its_target_a_controller_holds_back(view_of, along):
    view = climbing(view_of, along, 300, 150, 150, from_c=690.0)
    assert view.temp_c > 770
    assert known_climb(view, view.part).beside is Beside.BETWEEN


@pytest.mark.parametrize("changed", [{"known": None}, {"from_c": 20.0}, {"began_s": 500.0}],
                         ids=["not known", "cold", "too early"])
def test_nothing_is_said_where_too_little_is_known(view_of, along, changed):
    view = climbing(view_of, along, 300, 200, 200, **changed)
    assert known_climb(view, view.part) is None


@pytest.mark.parametrize(("walls_above_k", "share"), [(30.0, (360 - 60) / (300 - 60)), (150.0, None), (400.0, None)])
def test_a_climb_that_warmer_walls_lead_is_not_compared(view_of, along, walls_above_k, share):
    view = climbing(view_of, along, 360, 360, 360, known=KNOWN._replace(thermal=LEAKY))
    view = replace(view, kiln=view.kiln._replace(walls_c=view.temp_c + walls_above_k))
    found = known_climb(view, view.part)  # five minutes ago, in the middle of the line, they were 30 K further apart
    assert (found and found.share) == (None if share is None else pytest.approx(share, abs=0.02))
