"""Climbs with all power on, told from those of a controller that waits."""

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.kiln.climbs import Climb, at_full_power, climbs_of, power, waits_s_per_k
from daemon.kiln.past_firing import PastFiring, Ran
from tests.daemon.kiln.conftest import TRUE

FULL = Climb(0, 600.0, 14.0, 0.21, 0.20, is_short=True, fades=True)
WAITING = FULL._replace(longer_s_per_k=8.0, high_k_per_s=0.16, late_k_per_s=0.13, fades=False)
FOLLOWED = FULL._replace(longer_s_per_k=0.0, high_k_per_s=0.15, late_k_per_s=0.14, is_short=False, fades=False)


def test_a_climb_slower_than_planned_at_less_power_than_others_was_led_by_the_controller():
    assert at_full_power([FULL, FULL, WAITING, FOLLOWED]) == [FULL, FULL]
    assert power([FULL, FULL, WAITING, FOLLOWED]) == (0.20, True)


def test_a_controller_that_waits_in_every_climb_shows_no_limit():
    waiting = [WAITING._replace(firing=n, late_k_per_s=late) for n, late in enumerate((0.125, 0.13, 0.12))]
    assert at_full_power(waiting) == []
    assert power(waiting) == (pytest.approx(1.15 * 0.16), False)


def test_what_all_power_led_teaches_nothing_of_the_controllers_waits():
    assert waits_s_per_k([FULL, FULL, WAITING, FOLLOWED, WAITING]) == 8.0
    assert waits_s_per_k([FULL, FULL, FOLLOWED]) == 0.0


def test_elements_that_lost_a_third_over_many_firings_are_found_at_full_power_all_along():
    tiring = [FULL._replace(firing=n, late_k_per_s=0.20 * (1 - 0.03 * n)) for n in range(12)]
    assert at_full_power(tiring) == tiring


def test_one_climb_far_above_the_others_does_not_hide_them():
    steep = FULL._replace(late_k_per_s=0.30)
    assert at_full_power([FULL, FULL, FULL, FOLLOWED, steep]) == [FULL, FULL, FULL, steep]


def test_a_limit_that_is_seen_much_later_says_nothing_of_earlier_climbs():
    early = FULL._replace(fades=False)
    assert at_full_power([early, FULL._replace(firing=9)]) == [FULL._replace(firing=9)]


@pytest.mark.parametrize(("first_c_per_h", "is_short"), [(300.0, False), (250.0, True)])
def test_a_climb_that_ended_in_time_shows_no_limit_though_it_slowed_down(first_c_per_h, is_short):
    # 200 K at 250 °C/h are 48 minutes. After 30 at the first rate and the rest at 180 °C/h it ends at 46.7 or 55.
    planned = planned_parts(Plan("Climb, invented", "C", (Step(250, 800, 600), Step(None, 40))), 600.0)
    turn_s, turn_c = 1800.0, 600 + first_c_per_h / 2
    end_s = turn_s + (800 - turn_c) / 180 * 3600
    trace = [(t_s, 600 + first_c_per_h * t_s / 3600 if t_s < turn_s else turn_c + 180 * (t_s - turn_s) / 3600)
             for t_s in range(0, int(end_s) + 1, 60)]
    (climb,) = climbs_of([PastFiring(planned, [Ran(0, 0.0, end_s)], trace)], TRUE.thermal)
    assert (climb.is_short, climb.fades) == (is_short, True)
