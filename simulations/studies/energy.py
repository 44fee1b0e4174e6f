"""Whether the energy estimate holds what it says: kilns with three firings each, held against the plant's own ledger.

The watcher is given temperatures and the rated power; the plant knows what its elements took. A firing counts as
inside where that lies between the estimate's low and high.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random
from statistics import fmean, median

from daemon.firing.energy.estimate import Basis, Estimate, estimate
from daemon.firing.energy.heat_balance import HeatUse, Why, heat_use
from daemon.firing.events import Part
from daemon.firing.plan.schedule import planned_parts
from simulations.cases import Case
from simulations.firing import Simulated
from simulations.generator import clean_case
from simulations.random_plans import Program, random_program
from simulations.second_plant.cases import SecondCase, quiet_case

FIRINGS = 3
"""Of each kiln. [chosen: full power seen in one of them serves the others]"""
KINDS = ("full-fuse", "plain-fuse", "tack", "refire", "slump", "decal", "low-fire")
"""Of plans after the first. [chosen: a casting of forty hours says nothing more]"""


@dataclass(frozen=True, slots=True)
class Burnt:
    """One firing: its kiln's rated power [kW], what the elements took [kWh], and what was reckoned of it."""

    kiln: str
    power_kw: float
    used_kwh: float
    found: HeatUse | Why


@dataclass(frozen=True, slots=True)
class Tally:
    """How many estimates lay below, inside and above, and the median of what was used against the likely figure."""

    below: int
    inside: int
    above: int
    used_per_likely: float

    @property
    def share(self) -> float:
        """Return the share of firings inside their spread."""
        return self.inside / (self.below + self.inside + self.above)


def burn(name: str) -> Burnt:
    """Fire and reckon one firing, named ``first-SEED-NUMBER`` or ``second-SEED-NUMBER``."""
    plant, seed, number = name.split("-")
    case: Case | SecondCase = clean_case(int(seed)) if plant == "first" else quiet_case("clean", int(seed))
    if int(number):
        case = _another(case, Random(f"series {name}"))
    fired = case.fire()
    found = heat_use(by_minute(fired), planned_parts(case.plan), true_parts(fired, case))
    return Burnt(f"{plant}-{seed}", case.kiln.power_w / 1000, fired.truth.used_kwh, found)


def _another(case: Case | SecondCase, rng: Random) -> Case | SecondCase:
    """Return another firing of the same kiln: another plan, load and day."""
    made: Program = random_program(rng, kinds=KINDS)
    seed, room_c, start_s = rng.randrange(2**31), rng.uniform(12, 26), rng.uniform(0, 300)
    if isinstance(case, SecondCase):
        return replace(case, plan=made.plan, glass=made.glass, thickness_mm=made.thickness_mm, seed=seed,
                       top=made.top, anneal=made.anneal, cool=made.cool, usual=case.usual[:1],
                       bench=replace(case.bench, room_c=room_c, start_c=room_c, start_s=start_s))
    around = replace(case.around, room_c=room_c, start_c=None, load_share=rng.uniform(0.6, 1.4),
                     mains_share=case.around.mains_share * rng.uniform(0.985, 1.015))
    return replace(case, plan=made.plan, glass=made.glass, thickness_mm=made.thickness_mm, seed=seed, habits=(),
                   start_s=start_s, around=around)


def by_minute(fired: Simulated) -> list[tuple[float, float]]:
    """Return the readings as the store thins them: a mean for each minute."""
    minutes: dict[int, list[tuple[float, float]]] = defaultdict(list)
    for sample in fired.samples:
        if sample.temp_c is not None:
            minutes[int(sample.t_s // 60)].append((sample.t_s, sample.temp_c))
    return [(fmean(t_s for t_s, _ in at), fmean(temp_c for _, temp_c in at)) for _, at in sorted(minutes.items())]


def true_parts(fired: Simulated, case: Case | SecondCase) -> list[Part]:
    """Return the parts as the controller ran them; finding them is judged elsewhere."""
    planned = {(part.step, str(part.part)): part for part in planned_parts(case.plan)}
    return [Part(asked.index, asked.step, asked.part, ran.start_s, ran.end_s) for ran in fired.truth.parts
            if (asked := planned.get((ran.step, ran.part))) is not None]


def estimates(burnt: Sequence[Burnt], *, metered: bool = False) -> list[tuple[Burnt, Estimate]]:
    """Return every firing that could be reckoned with its estimate, which knows the kiln's other firings.

    With ``metered`` a meter was read for the other firings; a kiln with one firing is left out then.
    """
    of_kiln: dict[str, list[tuple[Burnt, HeatUse]]] = defaultdict(list)
    for one in burnt:
        if isinstance(one.found, HeatUse):
            of_kiln[one.kiln].append((one, one.found))
    reckoned = []
    for firings in of_kiln.values():
        for one, use in firings:
            read = [(other, of.used_kwh) for of, other in firings if of is not one] if metered else []
            if read or not metered:
                reckoned.append((one, estimate(use, [other for _, other in firings], one.power_kw, read)))
    return reckoned


def tally(reckoned: Sequence[tuple[Burnt, Estimate]]) -> Tally:
    """Return how many lay inside."""
    below = sum(one.used_kwh < told.low_kwh for one, told in reckoned)
    above = sum(one.used_kwh > told.high_kwh for one, told in reckoned)
    return Tally(below, len(reckoned) - below - above, above,
                 median(one.used_kwh / told.likely_kwh for one, told in reckoned))


def report(burnt: Sequence[Burnt]) -> str:
    """Return the study's figures as lines."""
    lines = [f"{sum(isinstance(one.found, Why) for one in burnt)} of {len(burnt)} could not be reckoned"]
    reckoned = [*estimates(burnt), *estimates(burnt, metered=True)]
    for basis in Basis:
        some = [pair for pair in reckoned if pair[1].basis is basis]
        if some:
            found = tally(some)
            wide = median(told.high_kwh / told.low_kwh for _, told in some)
            lines.append(
                f"{basis.value}: {len(some)} firings, {found.share:.0%} inside, {found.below} below, "
                f"{found.above} above, used/likely {found.used_per_likely:.2f}, high/low {wide:.2f}")
    return "\n".join(lines)
