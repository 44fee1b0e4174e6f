"""Firings of the second plant, drawn by seed: clean ones, clean ones on a wretched probe, and faulty ones."""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from daemon.firing.events import Said, Sample
from daemon.firing.plan.plan import Plan
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from simulations.cases import Expected
from simulations.faults import Fault
from simulations.firing import Simulated, program
from simulations.random_plans import Program, random_program, shelf
from simulations.second_plant.builds import Build, random_build
from simulations.second_plant.firing import Bench, fire
from simulations.second_plant.installation import installed
from simulations.second_plant.labels import Known
from simulations.second_plant.logger import random_logger
from simulations.second_plant.programmer import AfterCut, random_habits
from simulations.second_plant.regulators import random_regulator
from simulations.second_plant.rows import ROWS, Draft
from simulations.second_plant.sensor import random_sensor

CLEAN, HARSH = "clean", "harsh"
PREFIX = "second-"
"""Begins the name of every firing of this plant."""
KINDS = ("full-fuse", "plain-fuse", "tack", "refire", "slump", "decal", "low-fire", "thick")
"""Kinds of plan for faulty firings; a casting of forty hours says nothing more."""
OTHER_TOP_K = 40.0
"""A wrong plan's top differs by this much at least [K]. [chosen: else nothing much is wrong]"""
FREE_C_PER_H = 500.0
"""A free ramp is meant to go about so fast, for reckoning [°C/h]. [common practice]"""
CRASHED_OVER_K = 120.0
"""Nobody vents a top that lies no further than this above its anneal [K]. [common practice]"""


@dataclass(frozen=True, slots=True)
class SecondCase:
    """A firing of the second plant, with what ``simulations.cases.Case`` offers to a study.

    Attributes
    ----------
    name, row
        As a study lists it, and its line in the table.
    plan, glass, thickness_mm, keyed, shelf, expected, seed
        As in ``simulations.cases.Case``.
    bench
        Kiln, controller, probe and logger.
    top, anneal, cool
        Numbers of the plan's steps that do this, from 1.
    wrong, usual
        What goes wrong, and what the maker does anyway.
    """

    name: str
    row: str
    plan: Plan
    glass: str
    thickness_mm: float
    bench: Bench
    top: int
    anneal: int
    cool: int
    wrong: tuple[Fault, ...]
    usual: tuple[Fault, ...]
    seed: int
    shelf: tuple[Plan, ...]
    keyed: Plan | None = None
    expected: tuple[Expected, ...] = ()
    offset_k: float = 0.0
    is_offset_known: bool = False

    @property
    def kiln(self) -> Build:
        """Return which kiln it is."""
        return self.bench.kiln

    @property
    def faults(self) -> tuple[str, ...]:
        """Return what goes wrong, to be read."""
        return tuple(_told(fault) for fault in self.wrong)

    @property
    def habits(self) -> tuple[str, ...]:
        """Return what maker and kiln do anyway, to be read."""
        return tuple(_told(fault) for fault in self.usual)

    @property
    def is_on_off(self) -> bool:
        """Return whether the controller only switches, with hysteresis."""
        return self.bench.regulator.sort == "on-off"

    @property
    def setup(self) -> Setup:
        """Return what Lehrling is told of it."""
        return Setup(self.plan, FAMILIES[self.glass], self.thickness_mm, offset_k=None, unit=self.plan.unit,
                     others=self.shelf)

    def fire(self) -> Simulated:
        """Return its readings and its truth."""
        return fire(self.bench, program(self.keyed or self.plan), (*self.wrong, *self.usual), self.thickness_mm,
                    self.seed)

    def entries(self, fired: Simulated) -> list[Sample | Said]:
        """Return what the decision is given: the readings; these makers say nothing."""
        return list(fired.samples)

    def labelled(self, fired: Simulated) -> SecondCase:
        """Return it with what must be said, now that it is known what happened."""
        if self.row in (CLEAN, HARSH):
            return self
        return replace(self, expected=ROWS[self.row].label(Known(self, fired.truth)))

    def meant_course(self) -> tuple[list[float], list[float]]:
        """Return the plan from its top on as it is written: times [s] and temperatures [°C], a minute apart."""
        steps = self.plan.steps
        times, temps = [0.0], [steps[self.top - 1].to_c]
        for step in steps[self.top:]:
            rate = (step.rate_c_per_h or FREE_C_PER_H) / 3600 * (1 if step.to_c > temps[-1] else -1)
            while abs(step.to_c - temps[-1]) > abs(rate) * 60:
                times.append(times[-1] + 60)
                temps.append(temps[-1] + rate * 60)
            times += [times[-1] + 60, times[-1] + 60 + step.hold_s]
            temps += [step.to_c, step.to_c]
        return times, temps


def _told(fault: Fault) -> str:
    """Return a fault to be read: name, size, length and place."""
    size = "" if fault.size is None else f"={fault.size:.2f}"
    length = "" if fault.length_s is None else f",{fault.length_s:.0f}s"
    if fault.passing_c is not None:
        return f"{fault.name}{size}{length}@{'above' if fault.rising else 'below'}{fault.passing_c:.0f}"
    return f"{fault.name}{size}{length}@step{fault.step}:{fault.part}+{fault.after_s:.0f}s"


def random_bench(rng: Random, *, is_harsh: bool = False, is_faulty: bool = False,
                 after_cut: AfterCut | None = None) -> Bench:
    """Return kiln, controller, probe and logger at random."""
    kiln, regulator = random_build(rng), random_regulator(rng)
    habits = random_habits(rng, regulator.sort, after_cut)
    weak = kiln.holding_w(800.0) > 0.45 * kiln.power_w
    if weak and not habits.waits_k:
        # A program that waits for nothing would leave a weak kiln far behind: nobody keeps that pair.
        habits = replace(habits, waits_k=rng.uniform(10, 25))
    if habits.waits_k and habits.clock == "arrival":
        habits = replace(habits, waits_k=min(habits.waits_k, 12.0) if regulator.sort == "pid" else habits.waits_k)
    room_c = rng.uniform(8, 30)
    luck = 0.5 if is_faulty else rng.random()
    start_s = rng.uniform(0, 300)
    if luck < 0.10:
        start_s = rng.uniform(300, 3 * 3600)
    elif luck < 0.22:
        start_s = -rng.uniform(60, 1200)
    drawn = Bench(
        kiln, random_sensor(rng, is_ours=False), regulator, habits, random_sensor(rng, is_ours=True),
        random_logger(rng, is_harsh=is_harsh), rng.choice((5.0, 5.0, 10.0, 20.0, 30.0)), room_c,
        rng.uniform(60, 110) if not is_faulty and rng.random() < 0.08 else room_c + rng.uniform(0, 3),
        rng.uniform(0.93, 1.03), rng.uniform(0, 0.03), rng.uniform(0.2, 0.8), start_s,
    )
    return installed(drawn, rng)


def varied(rng: Random, made: Program) -> Program:
    """Return a program with what other makers write: a drying hold first, or a stop in the fall."""
    steps = list(made.plan.steps)
    shift = 0
    if rng.random() < 0.15:
        cool = steps[made.cool - 1]
        steps[made.cool - 1] = replace(cool, hold_s=60.0 * rng.randint(15, 45))
    if steps[0].to_c > 300 and rng.random() < 0.15:
        steps.insert(0, replace(steps[0], rate_c_per_h=float(rng.randint(50, 130)), purpose=None, hold_s=60.0 *
                                rng.randint(15, 60), to_c=5.0 * rng.randint(19, 26)))
        shift = 1
    squeeze = None if made.squeeze is None else made.squeeze + shift
    return replace(made, plan=replace(made.plan, steps=tuple(steps)), squeeze=squeeze, top=made.top + shift,
                   anneal=made.anneal + shift, cool=made.cool + shift)


def random_usual(rng: Random, made: Program, *, is_faulty: bool = False) -> tuple[Fault, ...]:
    """Return what a maker does to a firing without anything being wrong.

    Every kiln is opened in the end; a faulty firing has only that, so that its fault stands alone.
    """
    found = [Fault("door", rng.uniform(0.3, 1.0), passing_c=rng.uniform(55, 95), rising=False)]
    if made.thickness_mm <= 9 and rng.random() < 0.4:
        found.append(Fault("prop", rng.uniform(0.02, 0.12), passing_c=rng.uniform(110, 200), rising=False))
    elif made.thickness_mm <= 12 and rng.random() < 0.7:
        found.append(Fault("plug", rng.uniform(0.5, 3.0), passing_c=rng.uniform(180, 250), rising=False))
    if is_faulty:
        return tuple(found)
    steps = made.plan.steps
    above_k = steps[made.top - 1].to_c - steps[made.anneal - 1].to_c
    if above_k > CRASHED_OVER_K and steps[made.top].rate_c_per_h is None and rng.random() < 0.15:
        found.append(Fault("vent", rng.uniform(0.1, 0.8), 60 * rng.uniform(1, 6), None, made.top + 1, "ramp",
                           rng.uniform(10, 90)))
    if rng.random() < 0.15:
        found += [Fault("peek", rng.uniform(0.1, 0.6), rng.uniform(5, 40), None, made.top, "hold", 60.0 + 150 * n)
                  for n in range(rng.randint(1, 2))]
    if rng.random() < 0.10:
        found.append(Fault("minutes-added", rng.uniform(1.05, 1.4), None, None, made.top, "hold", 0.0))
    if rng.random() < 0.03:
        found.append(Fault("aborted-start", None, 60 * rng.uniform(3, 20), None, 1, "ramp", 60 * rng.uniform(3, 12)))
    if rng.random() < 0.06:
        found.append(Fault("gap", None, 60 * rng.uniform(2, 20), at_s=3600 * rng.uniform(0.5, 9)))
    return tuple(found)


def quiet_case(row: str, seed: int) -> SecondCase:
    """Return a firing with nothing wrong: ``clean``, or ``harsh`` on a wretched probe."""
    rng = Random(f"{PREFIX}{row} {seed}")
    made = varied(rng, random_program(rng))
    bench = random_bench(rng, is_harsh=row == HARSH)
    return _case(row, seed, rng, made, bench, (), random_usual(rng, made))


def faulty_case(row: str, seed: int) -> SecondCase:
    """Return the faulty firing of ``row`` with this seed."""
    rng = Random(f"{PREFIX}{row} {seed}")
    kind = ROWS[row]
    cool = None if kind.cool_c_per_h is None else rng.uniform(*kind.cool_c_per_h)
    made = varied(rng, random_program(rng, cool, KINDS))
    bench = random_bench(rng, is_faulty=True, after_cut=kind.after_cut)
    case = _case(row, seed, rng, made, bench, kind.place(Draft(rng, made)), random_usual(rng, made, is_faulty=True))
    if row != "wrong-plan":
        return case
    other = random_program(rng, kinds=KINDS).plan
    while abs(other.highest_c - case.plan.highest_c) < OTHER_TOP_K:
        other = random_program(rng, kinds=KINDS).plan
    return replace(case, keyed=other, shelf=(*case.shelf, other))


def _case(row: str, seed: int, rng: Random, made: Program, bench: Bench, wrong: tuple[Fault, ...],
          usual: tuple[Fault, ...]) -> SecondCase:
    """Return the firing of what was drawn."""
    return SecondCase(
        f"{PREFIX}{row}-{seed}", row, made.plan, made.glass, made.thickness_mm, bench, made.top, made.anneal,
        made.cool, wrong, usual, rng.randrange(2**31), shelf(),
    )


def second_case_named(name: str) -> SecondCase | None:
    """Return the firing of that name, ``second-`` before a row and its seed; None where it is none of these."""
    row, _, seed = name.removeprefix(PREFIX).rpartition("-")
    if not name.startswith(PREFIX) or not seed.isdecimal():
        return None
    if row in (CLEAN, HARSH):
        return quiet_case(row, int(seed))
    return faulty_case(row, int(seed)) if row in ROWS else None
