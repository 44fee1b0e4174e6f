"""What a firing took, against a kiln of slices whose every joule is known; it shares no code with the reckoning."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daemon.firing.energy.estimate import LEAST_SHARE, MOST_SHARE, Basis, estimate
from daemon.firing.energy.heat_balance import HeatUse, Why, heat_use
from daemon.firing.events import Part
from daemon.firing.plan.plan import parse_plan
from daemon.firing.plan.schedule import planned_parts

ROOM_C = 18.0
PLANNED = planned_parts(parse_plan(
    'title = "x"\nunit = "C"\n[[step]]\nrate = 220\nto = 670\nhold_min = 30\n[[step]]\nrate = "free"\nto = 800\n'
    'hold_min = 10\n[[step]]\nrate = "free"\nto = 516\nhold_min = 60\n[[step]]\nrate = 80\nto = 460\n'
    '[[step]]\nrate = "free"\nto = 40\n', "a test"))


@dataclass
class Fired:
    """A firing of the kiln of slices."""

    trace: list[tuple[float, float]]
    parts: list[Part]
    kwh: float


def fire(power_w, *, light_j_k=12_000.0, conducts_w_k=1.1, wall_j_k=60_000.0, slices=16, until_c=60.0) -> Fired:
    """Fire the plan: a light part that holds the probe, and behind it a wall of slices, its far face at the room's.

    Conductivity grows by 1e-3/K. The controller gives what the next step needs, within its power.
    """
    per_j_k, dt_s = wall_j_k / slices, 4.0
    wall = [ROOM_C] * slices
    here_c = wanted_c = ROOM_C
    trace, parts, used_j, t_s, at, began_s = [(0.0, here_c)], [], 0.0, 0.0, 0, 0.0
    while t_s < 60 * 3600.0:
        part = PLANNED[at] if at < len(PLANNED) else None
        between = [here_c, *wall, ROOM_C]
        flows = [conducts_w_k * (slices if 0 < n < slices else 2 * slices) * (1 + 1e-3 * (a + b) / 2) * (a - b)
                 for n, (a, b) in enumerate(pairwise(between))]
        if part is None or (part.direction < 0 and part.rate_c_per_h is None):
            watts = 0.0
            wanted_c = here_c
        else:
            rate = 2000.0 if part.rate_c_per_h is None else part.rate_c_per_h
            step_k = rate * dt_s / 3600
            wanted_c = here_c if abs(here_c - wanted_c) > 5.0 else wanted_c
            wanted_c = part.to_c if not part.direction else (
                min(part.to_c, wanted_c + step_k) if part.direction > 0 else max(part.to_c, wanted_c + step_k))
            watts = min(power_w, max(0.0, flows[0] + light_j_k * (wanted_c - here_c) / dt_s))
        here_c += dt_s * (watts - flows[0]) / light_j_k
        wall = [c + dt_s * (flows[n] - flows[n + 1]) / per_j_k for n, c in enumerate(wall)]
        used_j += watts * dt_s
        t_s += dt_s
        if t_s % 60 == 0:  # a whole number of steps
            trace.append((t_s, here_c))
        if part is not None and (
                t_s - began_s >= part.duration_s if not part.direction else
                (part.to_c - here_c) * part.direction < 0.5):
            parts.append(Part(part.index, part.step, part.part, began_s, t_s))
            at, began_s = at + 1, t_s
        if at >= len(PLANNED) - 1 and here_c < until_c:
            break
    return Fired(trace, parts, used_j / 3.6e6)


@pytest.fixture(scope="module")
def fired():
    return fire(4000.0)


@pytest.mark.parametrize("kiln", [
    {"power_w": 4000.0}, {"power_w": 2600.0, "conducts_w_k": 0.7, "wall_j_k": 25_000.0},
    {"power_w": 6000.0, "light_j_k": 30_000.0, "conducts_w_k": 1.5, "wall_j_k": 120_000.0}])
def test_where_full_power_was_seen_the_energy_is_that_of_the_kiln(kiln):
    made = fire(**kiln)
    use = heat_use(made.trace, PLANNED, made.parts)
    assert isinstance(use, HeatUse)
    found = estimate(use, [use], kiln["power_w"] / 1000)
    assert found.basis is Basis.FULL_POWER
    assert found.likely_kwh == pytest.approx(made.kwh, rel=0.08)
    assert found.low_kwh < made.kwh < found.high_kwh


def test_the_same_heat_is_the_same_share_whatever_the_power(fired):
    # A kiln twice as strong, fired alike, takes what it took; only its full power is another.
    strong = fire(8000.0)
    mine, other = (heat_use(one.trace, PLANNED, one.parts) for one in (fired, strong))
    assert other.kelvin_h / mine.kelvin_h == pytest.approx(strong.kwh / fired.kwh, rel=0.04)


def test_full_power_seen_once_serves_every_firing_of_the_kiln(fired):
    use = heat_use(fired.trace, PLANNED, fired.parts)
    unseen = HeatUse(use.kelvin_h, use.most_k * 0.7, None)
    wide, narrow = estimate(unseen, [unseen], 4.0), estimate(unseen, [unseen, use], 4.0)
    assert wide.basis is Basis.USUAL
    assert narrow.basis is Basis.FULL_POWER
    assert narrow.likely_kwh == pytest.approx(fired.kwh, rel=0.08)
    assert narrow.high_kwh - narrow.low_kwh < 0.5 * (wide.high_kwh - wide.low_kwh)


def test_a_meter_s_reading_of_another_firing_needs_neither_power_nor_full_power(fired):
    use = heat_use(fired.trace, PLANNED, fired.parts)
    gentle = HeatUse(0.5 * use.kelvin_h, 700.0, None)
    found = estimate(gentle, [gentle], 99.0, [(use, fired.kwh)])
    assert found.basis is Basis.METER
    assert found.likely_kwh == pytest.approx(0.5 * fired.kwh)
    assert found.low_kwh == pytest.approx(0.47 * fired.kwh)


def test_without_full_power_the_spread_is_that_of_kilns_and_never_more_than_the_climb_allows():
    # Holding 800 °C in a room of 20 °C drives 780 K · (1 + 1e-3 · 410) = 1100 K: a fifth to four fifths of power.
    gentle = estimate(HeatUse(5000.0, 700.0, None), (), 3.0)
    assert gentle.low_kwh == pytest.approx(3.0 * 5000 / 1099.8 * (LEAST_SHARE + 0.06), rel=1e-3)
    assert gentle.high_kwh == pytest.approx(3.0 * 5000 / 1099.8 * (MOST_SHARE - 0.06), rel=1e-3)
    hard = estimate(HeatUse(5000.0, 2200.0, None), (), 3.0)
    assert hard.high_kwh < 3.0 * 5000 / (0.9 * 2200.0)


def test_a_full_power_that_another_firing_passed_was_none():
    weak, strong = HeatUse(5000.0, 1500.0, 1500.0), HeatUse(5000.0, 3000.0, None)
    assert estimate(weak, [weak, strong, strong, strong], 3.0).basis is Basis.USUAL


def test_what_cannot_be_reckoned_says_why(fired):
    trace, parts = fired.trace, fired.parts
    assert heat_use(trace, (), parts) is Why.NO_PLAN
    assert heat_use(trace, PLANNED, ()) is Why.NO_PLAN
    assert heat_use([], PLANNED, parts) is Why.NOT_FIRED
    assert heat_use([(t, 20.0) for t, _ in trace], PLANNED, parts) is Why.NOT_FIRED
    assert heat_use([point for point in trace if point[0] > 9000.0], PLANNED, parts) is Why.HOT_START
    assert heat_use([point for point in trace if not 9000.0 < point[0] < 11_000.0], PLANNED, parts) is Why.GAP
    top_s = parts[2].end_s
    assert heat_use([point for point in trace if point[0] < top_s], PLANNED, parts[:3]) is Why.NO_FALL


def test_a_short_gap_changes_little(fired):
    whole = heat_use(fired.trace, PLANNED, fired.parts)
    holed = heat_use([p for p in fired.trace if not 9000.0 < p[0] < 9900.0], PLANNED, fired.parts)
    assert holed.kelvin_h == pytest.approx(whole.kelvin_h, rel=0.01)


def test_a_clock_that_leapt_is_a_gap_and_takes_no_time(fired):
    assert heat_use([*fired.trace, (1e9, 20.0)], PLANNED, fired.parts) is Why.GAP


@settings(max_examples=60, deadline=None)
@given(steps=st.lists(st.tuples(st.floats(1.0, 4000.0), st.floats(-50.0, 1300.0)), max_size=80),
       ends=st.lists(st.floats(0.0, 9e4), max_size=9))
def test_whatever_was_read_there_is_a_figure_or_a_reason(steps, ends):
    trace, t_s = [], 0.0
    for step_s, temp_c in steps:
        t_s += step_s
        trace.append((t_s, temp_c))
    bounds = sorted(ends)
    parts = [Part(p.index, p.step, p.part, a, b) for p, (a, b) in zip(PLANNED, pairwise(bounds), strict=False)]
    found = heat_use(trace, PLANNED, parts)
    assert isinstance(found, Why) or (found.kelvin_h >= 0.0 and found.most_k >= 0.0)
    if isinstance(found, HeatUse) and found.most_k > 0.0:
        told = estimate(found, [found], 3.0)
        assert 0.0 <= told.low_kwh <= told.likely_kwh <= told.high_kwh
