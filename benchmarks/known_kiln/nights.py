"""Four nights of a simulated kiln: three to learn from, and the fourth quiet and with each of some faults."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import NamedTuple

from benchmarks.foresight.followable import faster
from benchmarks.foresight.kilns import WEAK_DUTY, BenchKiln, SecondKiln
from simulations.faults import Fault, parse_all
from simulations.firing import Simulated, simulate
from simulations.firing import program as segments
from simulations.random_kilns import hold_w
from simulations.random_plans import Program, random_program
from simulations.second_plant.firing import fire

PAST = 3
QUIET, FAST = "quiet", "quiet, faster plan"
_TIMES = 1.6
"""The climbs of the faster plan are so many times as fast: more than a weak kiln can."""
_LONGEST_S = 48 * 3600.0
_SHARE = (0.2, 0.7)
"""A fault begins at such a share of its part's planned time."""


class Night(NamedTuple):
    """One firing, and the plan that it was fired by."""

    made: Program
    fired: Simulated


class Nights(NamedTuple):
    """What one kiln did."""

    kiln: str
    is_weak: bool
    """Whether its elements were made weak."""
    past: list[Night]
    tonight: dict[str, Night]
    """The fourth firing by what went wrong in it. Nothing did in QUIET; in FAST only the plan asks for more."""


Fires = Callable[[Program, Sequence[Fault]], Simulated]


def bench_nights(seed: int) -> Nights:
    """Return the nights of a kiln of the bench; every other kiln has elements as weak as of a tired kiln."""
    kiln, chance, is_weak = BenchKiln(seed), Random(f"known kiln bench {seed}"), seed % 2 == 1
    if is_weak:
        kiln.build = replace(kiln.build, power_w=hold_w(kiln.build) / chance.uniform(*WEAK_DUTY))

    def begin(made: Program) -> Fires:
        night = kiln.night(made, chance)

        def fires(made: Program, faults: Sequence[Fault]) -> Simulated:
            return simulate(made.plan, kiln.build, (*night.faults, *faults), night.seed, start_s=night.start_s,
                            offset_k=kiln.offset_k, noise_k=kiln.noise_k, wander_k=kiln.wander_k,
                            around=night.around, kind=kiln.kind, longest_s=_LONGEST_S)
        return fires

    return _nights(f"bench-{seed}", begin, chance, {}, is_weak=is_weak)


def second_nights(seed: int) -> Nights:
    """Return the nights of a kiln of the second plant, as it was drawn."""
    kiln, chance = SecondKiln(seed), Random(f"known kiln second {seed}")

    def begin(made: Program) -> Fires:
        night = kiln.night(made, chance)

        def fires(made: Program, faults: Sequence[Fault]) -> Simulated:
            return fire(night.bench, segments(made.plan), (*night.faults, *faults), made.thickness_mm, night.seed)
        return fires

    return _nights(f"second-{seed}", begin, chance, {"sag": "element-out", "runaway": "welded"}, is_weak=False)


def _nights(name: str, begin: Callable[[Program], Fires], chance: Random, names: Mapping[str, str], *,
            is_weak: bool) -> Nights:
    """Return the nights of a kiln; ``names`` are those that its plant has for faults of the bench."""
    past = []
    for _ in range(PAST):
        made = random_program(chance)
        past.append(Night(made, begin(made)(made, ())))
    made = random_program(chance)
    fires = begin(made)
    tonight = {}
    for what, specs in _faults(made, chance).items():
        faults = [replace(fault, name=names.get(fault.name, fault.name)) for fault in parse_all(specs)]
        tonight[what] = Night(made, fires(made, faults))
    fast = replace(made, plan=faster(made.plan, _TIMES))
    tonight[FAST] = Night(fast, fires(fast, ()))
    return Nights(name, is_weak, past, tonight)


def _faults(made: Program, chance: Random) -> dict[str, tuple[str, ...]]:
    """Return what goes wrong in each fourth firing, spelt as ``simulations.faults`` reads it."""
    def into(step: int) -> str:
        steps = made.plan.steps
        this, before_c = steps[step - 1], steps[step - 2].to_c if step > 1 else 20.0
        rate = this.rate_c_per_h or 250.0
        return f"step{step}:ramp+{chance.uniform(*_SHARE) * abs(this.to_c - before_c) / rate * 3600:.0f}s"

    return {
        QUIET: (),
        "weak element": (f"sag={chance.uniform(0.5, 0.75):.2f}@0s",),
        "stall": (f"stuck=2h@{into(made.top)}",),
        "power lost in the climb": (f"power-cut=4h@{into(made.top)}",),
        "power lost in the cooling": (f"power-cut=4h@{into(made.cool)}",),
        "welded in the free fall": (f"runaway=90min@step{made.anneal}:ramp+{chance.uniform(180, 900):.0f}s",),
        "welded in the cooling": (f"runaway=90min@{into(made.cool)}",),
    }
