"""The controller as a keyed-in program meets a kiln."""

from __future__ import annotations

import pytest

from simulations.plant.builds import PRESETS
from simulations.plant.controller import Controller, Segment
from simulations.plant.kiln import STEP_S
from simulations.plant.plant import Plant
from simulations.plant.power_loop import Tuning

PROGRAM = (
    Segment(220, 670, 1800), Segment(250, 800, 600), Segment(None, 516, 3600), Segment(55, 370), Segment(150, 40),
)


class Ideal:
    """A kiln that is wherever the set point is."""

    def __init__(self, program, start_c: float = 20.0) -> None:
        self.controller = Controller(program)
        self.t_s, self.here_c = 0.0, start_c
        self.controller.start(0.0, start_c)

    def run(self, until_s: float) -> None:
        while self.t_s < until_s and self.controller.part:
            self.controller.tick(self.t_s, STEP_S, self.here_c)
            self.here_c = self.controller.set_point_c
            self.t_s += STEP_S


def lengths(controller: Controller) -> list[tuple[int, str, float]]:
    return [(r.step, r.part, r.end_s - r.start_s) for r in controller.ran]


def test_a_kiln_that_follows_gives_the_programs_own_times():
    ideal = Ideal((Segment(220, 670, 1800), Segment(250, 800, 600), Segment(55, 516)))
    ideal.run(1e9)
    expected = [(1, "ramp", 650 / 220 * 3600), (1, "hold", 1800), (2, "ramp", 130 / 250 * 3600), (2, "hold", 600),
                (3, "ramp", 284 / 55 * 3600)]
    for (step, part, length_s), (its_step, its_part, its_s) in zip(lengths(ideal.controller), expected, strict=True):
        assert (step, part) == (its_step, its_part)
        assert length_s == pytest.approx(its_s, abs=2 * STEP_S)


def test_it_waits_when_the_kiln_lags_and_goes_on_when_it_has_come():
    controller = Controller((Segment(600, 500),))
    controller.start(0.0, 20.0)
    for n in range(100):
        controller.tick(n * STEP_S, STEP_S, 20.0)
    assert controller.set_point_c == pytest.approx(28.8, abs=1.0), "8 °C ahead and no further"
    controller.tick(500.0, STEP_S, 29.0)
    assert controller.set_point_c > 28.8


def test_it_gives_full_power_far_below_and_none_far_above():
    controller = Controller((Segment(None, 800),))
    controller.start(0.0, 20.0)
    assert controller.tick(0.0, STEP_S, 20.0) == 1.0
    for n in range(1, 40):
        duty = controller.tick(n * STEP_S, STEP_S, min(799.0, 780.0 + n))
    assert duty < 1.0
    falling = Controller((Segment(None, 100),))
    falling.start(0.0, 800.0)
    assert falling.tick(0.0, STEP_S, 800.0) == 0.0


def test_the_contactor_is_on_for_its_share_of_each_cycle():
    controller = Controller((Segment(100, 500, 36_000),))
    controller.start(0.0, 499.9)
    duties = [controller.tick(n * STEP_S, STEP_S, 497.0) for n in range(24)]
    assert set(duties) - {0.0, 1.0}, "the step it switches in is shared"
    assert sum(1 for duty in duties if 0.0 < duty < 1.0) <= 4, "once a cycle"


def test_a_hold_of_nothing_is_passed_over():
    ideal = Ideal((Segment(220, 100), Segment(220, 200, 60)))
    ideal.run(1e9)
    assert [(step, part) for step, part, _ in lengths(ideal.controller)] == [(1, "ramp"), (2, "ramp"), (2, "hold")]


def test_a_ramp_to_where_the_kiln_is_is_none():
    ideal = Ideal((Segment(220, 100, 60), Segment(50, 100, 120)), start_c=100.0)
    ideal.run(1e9)
    assert [(step, part) for step, part, _ in lengths(ideal.controller)] == [(1, "hold"), (2, "hold")]


def test_a_frozen_controller_counts_nothing():
    ideal = Ideal((Segment(220, 100, 1800),))
    ideal.run(3000.0)
    ideal.controller.frozen = True
    ideal.run(6600.0)
    ideal.controller.frozen = False
    ideal.run(1e9)
    assert lengths(ideal.controller)[-1][2] == pytest.approx(5400, abs=2 * STEP_S)


def test_losing_power_ends_the_part_and_resuming_takes_the_step_up_again():
    ideal = Ideal(PROGRAM)
    ideal.run(11_500.0)  # in the first hold
    ideal.controller.lose_power(ideal.t_s)
    assert ideal.controller.tick(ideal.t_s, STEP_S, 650.0) == 0.0
    ideal.controller.resume(ideal.t_s + 600, 600.0)
    assert [(r.step, r.part) for r in ideal.controller.ran] == [(1, "ramp"), (1, "hold"), (1, "ramp")]
    assert ideal.controller.set_point_c == 600.0


def test_starting_again_begins_at_step_one():
    ideal = Ideal(PROGRAM)
    ideal.run(14_000.0)
    ideal.controller.start(ideal.t_s, 700.0)
    assert (ideal.controller.step, ideal.controller.part) == (1, "ramp")
    assert ideal.controller.ran[-2].end_s == ideal.t_s


@pytest.mark.parametrize("name", list(PRESETS))
def test_on_every_kiln_it_tracks_ramps_and_holds(name):
    plant = Plant(PRESETS[name], PROGRAM)
    off_ramp, off_hold = [], []
    while not plant.over and plant.t_s < 30 * 3600:
        plant.advance()
        ctl = plant.controller
        off = abs(ctl.set_point_c - plant.sensor.temp_c)
        if ctl.part == "ramp" and ctl.step in (1, 4) and plant.t_s > ctl.part_since_s + 600:
            off_ramp.append(off)
        if ctl.part == "hold" and plant.t_s > ctl.part_since_s + 900:
            off_hold.append(off)
    assert max(off_ramp) < 8.5, "never more than it waits for"
    assert sum(off_ramp) / len(off_ramp) < 3.0
    assert max(off_hold) < 3.0
    assert [(r.step, r.part) for r in plant.ran] == [
        (1, "ramp"), (1, "hold"), (2, "ramp"), (2, "hold"), (3, "ramp"), (3, "hold"), (4, "ramp"), (5, "ramp"),
    ]


def test_a_kiln_too_weak_for_the_ramp_stretches_it():
    plant = Plant(PRESETS["top-loader"], (Segment(900, 800, 600),))
    while not plant.over and plant.t_s < 30 * 3600:
        plant.advance()
    ramp = plant.ran[0]
    assert ramp.end_s - ramp.start_s > 1.5 * 780 / 900 * 3600


class Lagging(Ideal):
    """A kiln that stays a fixed way behind the set point on a climb, for a controller tuned so."""

    def __init__(self, program, behind_k: float, tuning: Tuning, start_c: float = 20.0) -> None:
        super().__init__(program, start_c)
        self.controller = Controller(program, tuning)
        self.controller.start(0.0, start_c)
        self.behind_k = behind_k

    def run(self, until_s: float) -> None:
        while self.t_s < until_s and self.controller.part:
            self.controller.tick(self.t_s, STEP_S, self.here_c)
            self.here_c = self.controller.set_point_c - self.behind_k
            self.t_s += STEP_S


ONE = (Segment(100, 120, 600), Segment(100, 220))


def test_a_hold_begins_as_near_its_target_as_the_controller_asks():
    loose = Lagging(ONE, 7.0, Tuning(wait_k=25.0, hold_from_k=8.0))
    loose.run(2 * 3600.0)
    assert [(r.step, r.part) for r in loose.controller.ran][:2] == [(1, "ramp"), (1, "hold")]
    strict = Lagging(ONE, 7.0, Tuning(wait_k=25.0, hold_from_k=5.0))
    strict.run(2 * 3600.0)
    assert [(r.step, r.part) for r in strict.controller.ran] == [(1, "ramp")], "it never comes that near"


def test_a_holds_clock_stands_while_the_kiln_is_out_of_its_band():
    out = Lagging(ONE, 7.0, Tuning(wait_k=25.0, hold_from_k=8.0, counts_within_k=5.0))
    out.run(3 * 3600.0)
    assert out.controller.part == "hold"
    out.behind_k = 4.0
    out.run(3 * 3600.0 + 700.0)
    assert out.controller.step == 2


def test_a_set_point_may_move_once_a_minute_and_gets_there_in_the_same_time():
    stepped = Lagging(ONE, 0.0, Tuning(moves_every_s=60.0))
    stepped.run(50.0)
    assert stepped.controller.set_point_c == 20.0
    stepped.run(65.0)
    assert stepped.controller.set_point_c == pytest.approx(20.0 + 100 / 60)
    stepped.run(4000.0)
    assert stepped.controller.ran[1].start_s == pytest.approx(3600.0, abs=60.0)


def test_minutes_to_the_target_make_a_warm_start_slow():
    # 20 to 120 °C at 100 °C/h is an hour; from 70 °C the same hour is 50 °C/h.
    warm = Lagging(ONE, 0.0, Tuning(is_by_minutes=True), start_c=70.0)
    warm.run(1800.0)
    assert warm.controller.set_point_c == pytest.approx(95.0, abs=0.1)


def test_a_ramp_may_start_from_what_is_read():
    for starts_from_reading, from_c in ((True, 116.0), (False, 120.0)):
        tuning = Tuning(wait_k=25.0, hold_from_k=8.0, starts_from_reading=starts_from_reading)
        kiln = Lagging(ONE, 4.0, tuning)
        while kiln.controller.step == 1:
            kiln.run(kiln.t_s + STEP_S)
        assert kiln.controller.set_point_c == pytest.approx(from_c, abs=0.2)
