"""What happens to a firing begins and ends where it was placed."""

from __future__ import annotations

from simulations.faults import Fault
from simulations.plant.controller import Segment
from simulations.second_plant.maker import Maker
from simulations.second_plant.programmer import Habits, Programmer

HABITS = Habits("arrival", 4.0, 0.0, False, True, 5.0, False, "goes-on")
PROGRAM = (Segment(600.0, 500.0, 600.0), Segment(60.0, 100.0, 0.0))


def followed(fault: Fault, after_cut: str = "goes-on") -> tuple[Maker, Programmer, list[tuple[float, object]]]:
    """Return maker and controller after a firing whose kiln follows at once, and the effects of every step."""
    maker = Maker([fault])
    habits = Habits("arrival", 4.0, 0.0, False, True, 5.0, False, after_cut)
    controller = Programmer(PROGRAM, habits, maker.on_part)
    controller.start(0.0, 20.0)
    here_c, seen = 20.0, []
    for n in range(1, 3000):
        effects = maker.step(5.0 * n, here_c, controller)
        seen.append((5.0 * n, effects))
        setpoint_c = controller.step(5.0 * n, here_c, 5.0) if effects.is_mains_on else None
        here_c = here_c - 0.5 if setpoint_c is None else setpoint_c
    return maker, controller, seen


def test_a_place_in_the_program_counts_from_when_the_controller_comes_there():
    maker, controller, seen = followed(Fault("ajar", 0.3, 120.0, None, 1, "hold", 60.0))
    hold_s = controller.ran[1].start_s
    open_s = [t_s for t_s, effects in seen if effects.open_share]
    assert open_s[0] == hold_s + 60
    assert open_s[-1] == hold_s + 60 + 115
    assert [(h.name, h.size, h.at_s, h.until_s) for h in maker.happened] == [
        ("ajar", 0.3, hold_s + 60, hold_s + 180)]


def test_a_temperature_counts_falling_only_once_it_has_been_passed_climbing():
    maker, controller, _ = followed(Fault("door", 1.0, passing_c=400.0, rising=False))
    assert maker.happened[0].at_s > controller.ran[2].start_s


def test_after_a_cut_a_controller_goes_on_or_begins_again_or_stays_off():
    fault = Fault("power-cut", None, 300.0, None, 1, "hold", 60.0)
    parts = {after: [(p.step, p.part) for p in followed(fault, after)[1].ran]
             for after in ("goes-on", "begins-again", "stays-off")}
    assert parts["goes-on"] == [(1, "ramp"), (1, "hold"), (2, "ramp")]
    assert parts["begins-again"][:4] == [(1, "ramp"), (1, "hold"), (1, "ramp"), (1, "hold")]
    assert parts["stays-off"] == [(1, "ramp"), (1, "hold")]


def test_cooling_too_fast_lasts_to_the_end_of_its_ramp():
    _, plain, _ = followed(Fault("gap", None, 5.0, at_s=1.0))
    _, fast, _ = followed(Fault("cooling", 4.0, None, None, 2, "ramp", 0.0))
    assert plain.ran[2].end_s is None  # 400 K at 60 K/h outlast these four hours
    assert fast.ran[2].end_s - fast.ran[2].start_s < 1.02 * 400 / 240 * 3600


def test_one_that_stands_still_counts_nothing_and_goes_on_later():
    _, controller, _ = followed(Fault("stuck", None, 1200.0, None, 1, "ramp", 600.0))
    assert controller.ran[1].start_s >= 2880 + 1195


def test_an_aborted_start_begins_the_first_ramp_twice():
    _, controller, seen = followed(Fault("aborted-start", None, 600.0, None, 1, "ramp", 300.0))
    assert [(p.step, p.part) for p in controller.ran][:3] == [(1, "ramp"), (1, "ramp"), (1, "hold")]
    assert any(effects.is_to_start_again for _, effects in seen)
