"""A fall teaches of the shut kiln alone: it ends where a lid was opened."""

from dataclasses import replace

import pytest

from daemon.firing.energy.thermal import Heat, Thermal, falling
from daemon.firing.plan.plan import Plan, Step
from daemon.kiln.falls import thermal_of
from tests.daemon.kiln.conftest import FUSE, SLUMP, TRUE, fired

PROPPED_C = 200.0


def propped(firing):
    """Return a firing whose lid is propped below PROPPED_C: the chamber then gives the room three times as much."""
    thermal = TRUE.thermal._replace(chamber_loses_per_s=3 * TRUE.thermal.chamber_loses_per_s)
    last = next(ran for ran in firing.ran if ran.part == len(firing.planned) - 1)
    begin = next(i for i, (t_s, temp_c) in enumerate(firing.trace) if t_s > last.start_s and temp_c < PROPPED_C)
    times = [t_s for t_s, _ in firing.trace[begin:]]
    curve = falling(Thermal(*thermal), Heat(PROPPED_C, PROPPED_C + 20), times, 19.0)
    return replace(firing, trace=[*firing.trace[:begin], *zip(times, curve, strict=True)])


def test_a_fall_ends_where_the_lid_was_propped():
    shut, opened = fired(SLUMP, noise_k=0.1), propped(fired(SLUMP, noise_k=0.1))
    ends_c = [firing.trace[firing.unpowered_falls()[-1][-1]][1] for firing in (shut, opened)]
    assert ends_c[0] < 100
    assert ends_c[1] == pytest.approx(PROPPED_C, abs=15)


@pytest.mark.parametrize("seed", range(4))
def test_a_fall_in_which_nothing_was_opened_teaches_down_to_its_end(seed):
    firing = fired(FUSE, seed=seed, noise_k=0.5)
    assert firing.trace[firing.unpowered_falls()[-1][-1]][1] < 45


def test_a_fall_that_the_controller_leads_teaches_only_from_where_the_kiln_falls_more_slowly():
    # At 60 °C/h from 440 °C this kiln can follow to about 300 °C; from there on it falls by itself.
    plan = Plan("Led, invented", "C", (*SLUMP.steps[:-1], Step(60, 40)))
    led = fired(plan, noise_k=0.1)
    rows = led.unpowered_falls()[-1]
    begins_c, last = led.trace[rows[0]][1], led.ran[-1]
    free_c = next(c for (t, c), k_per_s in zip(led.trace, led.slopes, strict=True)
                  if t > last.start_s + 900 and -k_per_s < 0.85 * 60 / 3600)
    assert begins_c < 400
    assert begins_c == pytest.approx(free_c, abs=20)


def test_a_kiln_whose_lid_is_propped_in_every_fall_is_learned_as_it_is_shut():
    shut = [fired(SLUMP, seed=seed, noise_k=0.1) for seed in range(3)]
    learned = [thermal_of(past) for past in (shut, [propped(one) for one in shut])]
    curves = [falling(thermal, Heat(480.0, 420.0), [600.0 * n for n in range(36)], 19.0) for thermal in learned]
    assert curves[1] == pytest.approx(curves[0], abs=12)
