"""Controllers' regulators: what each does to an error."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from random import Random

import pytest

from simulations.second_plant.regulators import OnOff, Pid, Proportional, Regulator, RegulatorBuild, random_regulator


def held(regulator: Regulator, *, hours: float = 4.0, full_k: float = 1500.0) -> list[float]:
    """Return the temperatures of a lumped body that a regulator brings to 500 °C, its sensor a minute behind.

    Full power would hold it ``full_k`` above the room.
    """
    temp_c, felt_c, found = 20.0, 20.0, []
    for _ in range(round(hours * 720)):
        duty = regulator.duty(500.0, felt_c, 5.0)
        temp_c += 5.0 / 4000.0 * (full_k * duty - (temp_c - 20.0))
        felt_c += 5.0 / 60.0 * (temp_c - felt_c)
        found.append(temp_c)
    return found


def test_proportional_alone_stands_low_by_what_its_duty_asks():
    # At rest full_k * (bias + e/band) = 500 - e - 20.
    error_k = (480.0 - 1500.0 * 0.1) / (1500.0 / 12.0 + 1.0)
    assert held(Proportional(12.0, 0.1))[-1] == pytest.approx(500.0 - error_k, abs=0.01)
    assert 2 < error_k < 4


def test_pid_comes_to_its_target_in_the_end():
    assert held(Pid(25.0, 700.0, 20.0))[-1] == pytest.approx(500.0, abs=0.3)


def settled_after_s(found: list[float]) -> float:
    """Return when the temperature was last further than a kelvin from 500 °C."""
    return 5.0 * max(n for n, temp_c in enumerate(found) if abs(temp_c - 500.0) > 1.0)


def test_a_hot_pid_overshoots_more_and_a_slack_one_is_longer_in_coming_than_a_good_one():
    hot, good, slack = held(Pid(8.0, 200.0, 0.0)), held(Pid(25.0, 700.0, 20.0)), held(Pid(70.0, 1400.0, 0.0))
    assert max(hot) > max(good) + 1.0
    assert settled_after_s(slack) > settled_after_s(good) + 300.0


def test_its_integral_does_not_move_while_power_is_at_its_stop():
    pid = Pid(20.0, 300.0, 0.0)
    for _ in range(500):
        assert pid.duty(500.0, 100.0, 5.0) == 1.0
    assert pid.duty(500.0, 505.0, 5.0) == 0.0


def test_on_off_saws_by_its_hysteresis_at_least():
    last = held(OnOff(4.0, 20.0))[-720:]
    assert 4.0 <= max(last) - min(last) < 20.0


def test_on_off_rests_as_long_as_it_must():
    regulator, duties = OnOff(0.0, 40.0), []
    for n in range(200):
        duties.append(regulator.duty(500.0, 499.0 if n % 2 else 501.0, 5.0))
    changes = [n for n, (a, b) in enumerate(pairwise(duties)) if a != b]
    assert all(later - earlier >= 8 for earlier, later in pairwise(changes))
    assert len(changes) > 3


def test_all_three_sorts_are_drawn_and_pid_most():
    builds = [random_regulator(Random(seed)) for seed in range(300)]
    sorts = Counter(build.sort for build in builds)
    assert sorts["pid"] > 150 > sorts["on-off"] > 20
    assert sorts["proportional"] > 20
    assert isinstance(RegulatorBuild("on-off", (3.0, 20.0)).build(), OnOff)
