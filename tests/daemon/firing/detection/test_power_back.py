"""What is known of power that is back; when it counts as back is held by the tests of the watch ``restarted``."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.detection.power_back import power_back
from daemon.firing.events import Part, Rank
from daemon.firing.situation.view import Interruption

TOP, FALL, ANNEAL = 3, 4, 5


@pytest.fixture
def reheated(view_of, along):
    """Return a function: the view of a kiln that lost 46 K in its anneal and has come up by ``back_k`` since."""
    def view(back_k, **changed):
        readings = along((0.0, 516.0), (1200.0, 516.0), (2400.0, 470.0), (3000.0, 470.0 + back_k))
        found = (Part(FALL, 4, "ramp", -900.0, 0.0), Part(ANNEAL, 4, "hold", 0.0, mean_c=516.0))
        broken = Interruption(1200.0, ANNEAL, 1200.0, 516.0)
        return view_of(readings, ANNEAL + 1, found=found, broken=broken, peak_c=800.0, **changed)
    return view


def test_a_climb_back_names_what_was_not_done_and_wakes(reheated):
    back = power_back(reheated(25.0))
    assert (back.undone, back.from_c, back.lowest_c) == ((ANNEAL, 1200.0), 516.0, 470.0)
    assert (back.step, back.rank, back.since_s, back.is_dark) == (3, Rank.WAKE, 2400.0, False)


@pytest.mark.parametrize("back_k", [-10.0, 5.0])
def test_a_kiln_that_has_hardly_come_up_is_without_power_still(reheated, back_k):
    assert power_back(reheated(back_k)) is None


def test_air_that_comes_back_to_the_heat_of_the_brick_is_no_power(reheated):
    assert power_back(reheated(25.0, kiln_c=510.0)) is None


@pytest.mark.parametrize(("then_c", "stands", "is_told"), [
    (470.0, True, False),  # the elements heat against the open lid from its first minute on
    (470.0, False, True),  # the lid is shut by now
    (440.0, True, True),  # it fell on for a quarter of an hour: the power was off
])
def test_a_kiln_heated_against_an_open_lid_has_not_lost_its_power(view_of, along, then_c, stands, is_told):
    readings = along((0.0, 516.0), (1200.0, 516.0), (1260.0, 472.0), (2100.0, then_c), (3600.0, 495.0))
    found = (Part(FALL, 4, "ramp", -900.0, 0.0), Part(ANNEAL, 4, "hold", 0.0, mean_c=516.0))
    view = view_of(readings, ANNEAL + 1, found=found, broken=Interruption(1200.0, ANNEAL, 1200.0, 516.0),
                   peak_c=800.0, kiln_c=516.0)
    view = replace(view, stood=((1200.0, view.t_s if stands else 2000.0),))
    assert (power_back(view) is not None) is is_told


@pytest.mark.parametrize(("lowest_c", "climbs_s", "back_c", "is_told"), [
    (705.0, 240.0, 744.0, False),  # two looks inside at the top, by a logger of one reading a minute
    (705.0, 240.0, 730.0, False),  # on its way back
    (705.0, 1020.0, 730.0, True),  # a quarter of an hour later it should be there
    (705.0, 1020.0, 744.0, False),  # and is
    (690.0, 240.0, 730.0, True),  # no look costs so much
])
def test_a_kiln_that_is_soon_back_where_it_was_has_lost_nothing(
        view_of, along, lowest_c, climbs_s, back_c, is_told):
    readings = along((0.0, 750.0), (1200.0, 750.0), (1320.0, lowest_c), (1320.0 + climbs_s, back_c))
    found = (Part(TOP, 3, "hold", 0.0, mean_c=750.0),)
    view = view_of(readings, TOP + 1, found=found, broken=Interruption(1200.0, TOP, 1200.0, 750.0), peak_c=750.0)
    assert (power_back(view) is not None) is is_told


def test_the_air_under_a_vent_is_no_kiln_that_has_left_its_anneal(view_of, along):
    """Seven minutes at 270 °C, taken for the cooling after the anneal; shut, the kiln comes to its 516 °C from above.

    A controller that only switches climbs there by 8 K every eight minutes, as if the program had begun again.
    """
    readings = along((0.0, 660.0), (600.0, 660.0), (700.0, 300.0), (1020.0, 270.0), (1080.0, 525.0), (1500.0, 513.0),
                     (1740.0, 521.0))
    found = (Part(FALL, 4, "ramp", 600.0, 700.0), Part(ANNEAL + 1, 5, "ramp", 700.0, 1500.0),
             Part(0, 1, "ramp", 1500.0))
    view = view_of(readings, 1, found=found, peak_c=800.0, vented_s=1080.0, resumed_s=1500.0)
    assert power_back(view) is None


@pytest.mark.parametrize(("swung_c", "is_back"), [(520.0, False), (545.0, True)])
def test_a_controller_that_swings_about_its_anneal_has_not_lost_its_power(view_of, along, swung_c, is_back):
    """Each swing looks like a climb of step 1 that broke off; one that leads 25 K past the anneal is a
    controller that began again."""
    readings = along((0.0, 800.0), (2400.0, 500.0), (2640.0, 516.0), (2880.0, 499.0), (3120.0, swung_c))
    found = (Part(3, 3, "hold", -600.0, 0.0), Part(FALL, 4, "ramp", 0.0, 2400.0), Part(0, 1, "ramp", 2400.0))
    view = view_of(readings, 1, found=found, broken=Interruption(2640.0, 0, 0.0, 516.0), peak_c=800.0,
                   fell_until_s=2400.0)
    assert (power_back(view) is not None) is is_back
