"""Whether a plan that a weak kiln can follow gives the glass the same: ``python -m benchmarks.foresight.followable``.

Each simulated kiln has elements so weak that holding 800 °C takes most of their power. It fires three plans, one of
them as fast as it goes, is learned, and gets a plan that it can't follow. On the same night three firings are made:
the plan as written in a twin with ample power, which shows what the glass was to get; the plan as written in the
weak kiln; and the plan that is proposed. They are compared by the true temperature of the glass. Kilns 0 to 3 were
looked at while the rule was made.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from multiprocessing import Pool
from random import Random
from statistics import median
from typing import NamedTuple

from benchmarks.foresight.__main__ import by_minute, quantile
from benchmarks.foresight.kilns import Fires, weak_kiln
from daemon.firing.energy.heat_balance import HeatUse, heat_use
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.exposure import Exposure
from daemon.glass.materials import FAMILIES
from daemon.kiln.foresight import foresee
from daemon.kiln.learn import learn
from daemon.kiln.past_firing import PastFiring, Ran
from daemon.kiln.planning.energy_ahead import PastEnergy, energy_of, read_over_foreseen
from daemon.kiln.planning.followable import Followable, OutOfReach, followable
from daemon.kiln.planning.outlook import NEAR_TOP_K
from simulations.firing import Simulated
from simulations.random_plans import Program, random_program

KINDS = ("full-fuse", "plain-fuse", "tack", "refire")
"""Of plans that are tried."""
PRIMER = Plan("Primer, empty kiln", "C", (Step(None, 540, 600), Step(None, 40)))
"""The firing that shows the most the elements can do."""
FASTER = (1.2, 2.0)
"""The climbs of the plan that is tried are so many times as fast as the plans at random have them."""
AMPLE = 2.0
"""The twin has so many times the weak kiln's power."""


class Tried(NamedTuple):
    """One kiln: what was proposed, and what the glass got."""

    seed: int
    came_of_it: str
    """``proposed``, ``same`` where it was also said to be the same, or why nothing was proposed."""
    peaks_c: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """The glass's peak in the twin, in the weak kiln by the plan as written, and by the new one [°C]."""
    near_s: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """Its time within NEAR_TOP_K of the twin's peak [s], likewise."""
    late_s: tuple[float, float] = (0.0, 0.0)
    """By how much all climbs together lasted longer than planned, as written and new [s]."""
    energy: float | None = None
    """The foreseen energy of the new plan over what its elements took [1], after a meter was read in the past."""


def try_kiln(seed: int) -> Tried:
    """Fire a kiln three times, learn it, and try what is proposed for a plan it can't follow."""
    chance = Random(f"followable {seed}")
    weak, ample = weak_kiln(seed), weak_kiln(seed, AMPLE)
    past, uses = _past(weak, chance)
    model = learn(past)
    assert model is not None
    made = random_program(chance, kinds=KINDS)
    made = replace(made, plan=faster(made.plan, chance.uniform(*FASTER)))
    found = followable(made.plan, model, 20.0, 20.0)
    if not isinstance(found, Followable):
        why = "out of reach" if isinstance(found, OutOfReach) else (
            "can follow" if model.is_power_known else "power not known")
        return Tried(seed, why)
    night = chance.randrange(2**31)
    fired = [fires(replace(made, plan=plan), Random(night))
             for fires, plan in ((ample, made.plan), (weak, made.plan), (weak, found.plan))]
    peaks = [max(one.truth.glass_c) for one in fired]
    near = [_near_s(one, peaks[0]) for one in fired]
    planned = planned_parts(found.plan)
    known = PastEnergy(1.0, [use for use, _ in uses], uses, read_over_foreseen(past, model))
    told = energy_of(planned, foresee(planned, model, 20.0), known)
    return Tried(seed, "same" if found.is_same else "proposed", (peaks[0], peaks[1], peaks[2]),
                 (near[0], near[1], near[2]), (_late(fired[1], made.plan), _late(fired[2], found.plan)),
                 None if told is None or not uses else told.likely_kwh / fired[2].truth.used_kwh)


def _past(fires: Fires, chance: Random) -> tuple[list[PastFiring], list[tuple[HeatUse, float]]]:
    """Return three firings as the watch dated their parts, and what a meter showed of them."""
    past, uses = [], []
    for number in range(3):
        made = random_program(chance, kinds=KINDS)
        if number == 0:
            made = Program(PRIMER, "90", 6.0, None, 1, 1, 2)
        fired = fires(made, chance)
        planned, trace = planned_parts(made.plan), by_minute(fired)
        report = judge(Setup(made.plan, FAMILIES[made.glass], made.thickness_mm), fired.samples)
        past.append(PastFiring(planned, [Ran(part.index, part.start_s, part.end_s) for part in report.parts
                                         if part.end_s is not None], trace))
        use = heat_use(trace, planned, list(report.parts))
        if isinstance(use, HeatUse):
            uses.append((use, fired.truth.used_kwh))
    return past, uses


def faster(plan: Plan, times: float) -> Plan:
    """Return the plan with its climbs so many times as fast."""
    here_c, steps = 20.0, []
    for step in plan.steps:
        climbs = step.to_c > here_c and step.rate_c_per_h is not None
        steps.append(replace(step, rate_c_per_h=min(999.0, times * (step.rate_c_per_h or 0.0))) if climbs else step)
        here_c = step.to_c
    return replace(plan, steps=tuple(steps))


def _near_s(fired: Simulated, peak_c: float) -> float:
    """Return how long the glass was within NEAR_TOP_K of a peak [s]."""
    seen = Exposure([peak_c - NEAR_TOP_K])
    for (from_s, from_c), (to_s, to_c) in pairwise(zip(fired.truth.times_s, fired.truth.glass_c, strict=True)):
        seen.advance(from_c, to_c, to_s - from_s)
    return seen.above_s[peak_c - NEAR_TOP_K]


def _late(fired: Simulated, plan: Plan) -> float:
    """Return by how much all climbs together lasted longer than planned [s]."""
    ran = {(part.step, part.part): part for part in fired.truth.parts}
    late_s = 0.0
    for part in planned_parts(plan):
        true = ran.get((part.step, part.part))
        if part.direction > 0 and part.rate_c_per_h and true is not None and true.end_s is not None:
            late_s += true.end_s - true.start_s - part.duration_s
    return late_s


def table(found: Sequence[Tried]) -> Iterator[str]:
    """Yield the figures, in Markdown."""
    yield "| firing | n | peak off: median °C | 90 % | near it, off: median min | 90 % | climbs late: median min |"
    yield "|---|--:|--:|--:|--:|--:|--:|"
    groups = (("as written", 1, [one for one in found if one.near_s[0]]),
              ("new, said to be the same", 2, [one for one in found if one.came_of_it == "same"]),
              ("new, said not to be", 2, [one for one in found if one.came_of_it == "proposed"]))
    for name, at, those in groups:
        if those:
            peaks = [abs(one.peaks_c[at] - one.peaks_c[0]) for one in those]
            near = [abs(one.near_s[at] - one.near_s[0]) / 60 for one in those]
            late = [one.late_s[at - 1] / 60 for one in those]
            yield (f"| {name} | {len(those)} | {median(peaks):.1f} | {quantile(peaks, 0.9):.1f} | "
                   f"{median(near):.1f} | {quantile(near, 0.9):.1f} | {median(late):.0f} |")


def main(arguments: list[str] | None = None) -> int:
    """Print the table, what came of each kiln, and how near the foreseen energy was."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.foresight.followable", description=__doc__)
    parser.add_argument("--kilns", type=int, default=20, metavar="N", help="how many (20)")
    parser.add_argument("--first", type=int, default=600, metavar="S", help="the first one's seed (600)")
    parser.add_argument("--jobs", type=int, default=2, metavar="J", help="processes (2)")
    parser.add_argument("--each", action="store_true", help="print each kiln too")
    args = parser.parse_args(arguments)
    with Pool(args.jobs) as pool:
        found = []
        for one in pool.imap(try_kiln, range(args.first, args.first + args.kilns)):
            found.append(one)
            if args.each:
                sys.stderr.write(f"{one}\n")
    sys.stdout.writelines(line + "\n" for line in table(found))
    came = {what: sum(one.came_of_it == what for one in found) for what in sorted({o.came_of_it for o in found})}
    sys.stdout.write("\n" + ", ".join(f"{what}: {count}" for what, count in came.items()) + "\n")
    energy = sorted(one.energy for one in found if one.energy is not None)
    if energy:
        low, high = quantile(energy, 0.1), quantile(energy, 0.9)
        sys.stdout.write(f"Foreseen energy over what was used: {median(energy):.2f} in the middle, {low:.2f} to "
                         f"{high:.2f} in eight of ten ({len(energy)}).\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
