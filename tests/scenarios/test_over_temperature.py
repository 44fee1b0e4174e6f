"""Too hot, told before it is, on whole firings: a climb that will pass the limit, and none that stops short of it."""

from __future__ import annotations

from random import Random

import pytest

from daemon.firing.detection.over_limit import KNOWN_MARGIN_K, UNKNOWN_MARGIN_K
from daemon.firing.events import Rank, Sample
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES

PLAN = Plan("drawn", "C", (Step(300.0, 800.0, 600.0), Step(None, 516.0, 3600.0), Step(60.0, 370.0, 0.0)))
LIMIT_C = 800.0 + KNOWN_MARGIN_K


def climb(*legs, seed=1):
    """Return readings of 5 s: ``legs`` are (°C to reach, °C/h), from 20 °C."""
    rng, here_c, t_s, samples = Random(seed), 20.0, 0.0, []
    for to_c, rate in legs:
        while here_c < to_c:
            t_s, here_c = t_s + 5.0, here_c + rate / 720
            samples.append(Sample(t_s, here_c + rng.gauss(0.0, 0.5)))
    return samples


PAST = {(720.0, 2000.0): 0.0}
"""Past firings have shown at the top that probe and controller agree."""


def too_hot(samples, *, usual_by_band=PAST, offset_k=None):
    report = judge(Setup(PLAN, FAMILIES["90"], usual_by_band=usual_by_band, offset_k=offset_k), samples)
    return [a for a in report.alerts if a.kind == "over-temperature" and a.rank is Rank.WAKE]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("rate", [200.0, 300.0, 600.0])
def test_a_climb_through_the_top_is_told_within_the_minute_before_it_is_too_hot(rate, seed):
    samples = climb((760.0, 300.0), (840.0, rate), seed=seed)
    crossed_s = next(s.t_s for s in samples if s.temp_c > LIMIT_C)
    [alert] = too_hot(samples)
    assert crossed_s - 60.0 <= alert.raised_s <= crossed_s + 20.0
    assert alert.woke_s == alert.raised_s


def test_an_offset_that_only_the_owner_knows_leaves_the_wider_margin():
    # How the probe differs from this kiln's own sensor, holds alone can show; until then 25 K and two minutes.
    samples = climb((760.0, 300.0), (860.0, 300.0))
    crossed_s = next(s.t_s for s in samples if s.temp_c > 800.0 + UNKNOWN_MARGIN_K)
    [alert] = too_hot(samples, usual_by_band={}, offset_k=0.0)
    assert crossed_s - 60.0 <= alert.raised_s <= crossed_s + 120.0


@pytest.mark.parametrize("stops_c", [808.0, 812.0])
def test_a_kiln_that_shoots_over_and_stops_short_of_the_limit_wakes_nobody(stops_c):
    samples = climb((790.0, 300.0), (stops_c, 120.0))
    rng = Random(2)
    last_s = samples[-1].t_s
    samples += [Sample(last_s + 5.0 * i, stops_c + rng.gauss(0.0, 0.5)) for i in range(1, 240)]
    assert too_hot(samples) == []


def test_a_lid_opened_at_the_top_is_no_forecast():
    # The glow climbs back after a peek, and the lid opens again: the line drawn on would end above the limit.
    samples = climb((798.0, 300.0))
    rng, t_s = Random(3), samples[-1].t_s
    for from_c, to_c, seconds in ((798.0, 770.0, 20), (770.0, 806.0, 150), (806.0, 740.0, 30), (740.0, 800.0, 200)):
        for i in range(seconds // 5):
            t_s += 5.0
            samples.append(Sample(t_s, from_c + (to_c - from_c) * 5 * i / seconds + rng.gauss(0.0, 0.5)))
    assert too_hot(samples) == []


HELD = Plan("held", "C", (
    Step(300.0, 660.0, 1800.0), Step(300.0, 800.0, 900.0), Step(None, 516.0, 3600.0), Step(60.0, 370.0, 0.0)))


def held_then(*, held_c, moved_k, top_c, seed=1):
    """Return readings of ``HELD`` up to its top: the first hold in the mean at ``held_c``, the top at ``top_c``."""
    rng, samples = Random(seed), climb((held_c - moved_k / 2, 300.0), seed=seed)
    t_s = samples[-1].t_s
    samples += [Sample(t_s + 5.0 * i, held_c + moved_k * (i / 360 - 0.5) + rng.gauss(0.0, 0.5))
                for i in range(1, 361)]
    here_c, t_s = held_c + moved_k / 2, samples[-1].t_s
    while here_c < top_c:
        t_s, here_c = t_s + 5.0, here_c + 300.0 / 720
        samples.append(Sample(t_s, here_c + rng.gauss(0.0, 0.5)))
    return samples + [Sample(t_s + 5.0 * i, top_c + rng.gauss(0.0, 0.5)) for i in range(1, 180)]


@pytest.mark.parametrize(("held_c", "moved_k", "top_c", "wakes"), [
    (684.0, 1.0, 826.0, False),  # 24 K too high in both: the probe
    (684.0, 1.0, 846.0, True),
    (676.0, -8.0, 830.0, False),  # 16 K too high in a hold that moved by 8: the limit is 39 K above the top
    (676.0, -8.0, 846.0, True),
    (660.0, -8.0, 830.0, True),
    (637.0, 1.0, 806.0, False),  # a hold that truly was too cold, and a top that is right
    (644.0, 8.0, 806.0, False),
])
def test_a_hold_before_the_top_shows_how_high_the_probe_may_read(held_c, moved_k, top_c, wakes):
    report = judge(Setup(HELD, FAMILIES["90"]), held_then(held_c=held_c, moved_k=moved_k, top_c=top_c))
    assert any(a.kind == "over-temperature" and a.rank is Rank.WAKE for a in report.alerts) is wakes
