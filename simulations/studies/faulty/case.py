"""A faulty firing of a study: the fault of a row, in a plan and a kiln at random."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random

from daemon.firing.plan.plan import Plan
from simulations.cases import STORED_SHARE, Case, Expected
from simulations.generator import FIRST, GROWN, Bench, random_offset_k, random_start_s
from simulations.random_plans import in_the_other_unit, random_program, shelf
from simulations.studies.delay_targets import DELAY_TARGETS
from simulations.studies.faulty.draft import Draft
from simulations.studies.faulty.table import ROWS
from simulations.studies.onsets import UNKNOWN_MARGIN_K

_SQUEEZED = ("full-fuse", "plain-fuse", "tack", "thick")
"""Kinds of plan with a hold before the top, which tells the probe's offset."""
_KINDS: dict[str, tuple[str, ...]] = {
    "top-low": _SQUEEZED, "power-gone-climbing": (*_SQUEEZED, "refire"),
    "runaway": ("full-fuse", "plain-fuse", "tack", "refire", "slump", "thick"),
    "power-gone-coarse": ("full-fuse", "plain-fuse", "refire", "thick"),
}
"""Kinds of plan in which the fault of a row can be seen."""
_WITHOUT_CASTING = ("full-fuse", "plain-fuse", "tack", "refire", "slump", "decal", "low-fire", "thick")
"""Kinds of plan for all other rows; a casting of forty hours says nothing more."""
_INTERVALS_S = (5, 5, 5, 5, 10, 30)
"""Seconds between the readings, each as often as it is drawn. [chosen: Lehrling's own mostly]"""
_OTHER_TOP_K = 40.0
"""A wrong plan's top differs at least this much from the right one's [K]. [chosen: else nothing much is wrong]"""


def faulty_case(row: str, seed: int, bench: Bench = GROWN, chance: Callable[[str], Random] = Random) -> Case:
    """Return the faulty firing of ``row`` with this seed; ``chance`` is as in ``generator.clean_case``."""
    rng = chance(f"{row} {seed}")
    cool_c_per_h = rng.uniform(100, 120) if row.startswith("brisk") else rng.uniform(50, 60)
    cool = cool_c_per_h if row.startswith(("cooling", "brisk")) else None
    program = random_program(rng, cool, _KINDS.get(row, _WITHOUT_CASTING))
    faults, expected = ROWS[row](Draft(rng, program))
    promised, build = row in DELAY_TARGETS, bench.build(rng)
    case = Case(
        name=f"{row}-{seed}", row=row, plan=program.plan, glass=program.glass, thickness_mm=program.thickness_mm,
        kiln=build, faults=faults, expected=expected, seed=rng.randrange(2**31),
        start_s=random_start_s(rng, bench.pressed_late_s, hours=False) if row != "never-started" else 0.0,
        offset_k=random_offset_k(rng), is_offset_known=rng.random() < 0.2,
        noise_k=(rng.gauss(1.0, 0.08) if promised else rng.uniform(0.1, 1.0)) / STORED_SHARE,
        wander_k=0.6 if promised else rng.uniform(0.1, 0.65),
        interval_s=_interval_s(row, rng, is_own=promised or bench is FIRST),
        around=bench.surroundings(rng, build, tidy=promised or row in ("heating", "element-out")), shelf=shelf(),
    )
    if not promised and rng.random() < 0.5:
        harmless = ("spikes", "vent=0.4@", "ajar=0.15@")
        case = replace(case, habits=tuple(h for h in bench.habits(rng, program) if h.startswith(harmless)))
    return _keyed_wrongly(case, rng)


def _interval_s(row: str, rng: Random, *, is_own: bool) -> int:
    """Return the seconds between readings: Lehrling's own, or another logger's."""
    if row == "power-gone-coarse":
        return 60
    return 5 if is_own else rng.choice(_INTERVALS_S)


def _keyed_wrongly(case: Case, rng: Random) -> Case:
    """Return the case with another plan in the controller, where that is its row."""
    if case.row == "wrong-unit":
        return replace(case, keyed=in_the_other_unit(case.plan))
    if case.row == "wrong-plan":
        other = random_program(rng, kinds=_WITHOUT_CASTING).plan
        while abs(other.highest_c - case.plan.highest_c) < _OTHER_TOP_K:
            other = random_program(rng, kinds=_WITHOUT_CASTING).plan
        return replace(case, keyed=other, shelf=(*case.shelf, other), expected=_asked_of(case, other))
    return case


def _asked_of(case: Case, other: Plan) -> tuple[Expected, ...]:
    """Return what must be said where the controller runs ``other``: a hotter plan goes past the chosen one's top."""
    if other.highest_c < case.plan.highest_c + UNKNOWN_MARGIN_K:
        return case.expected
    return tuple(
        replace(want, kinds=(*want.kinds, "over-temperature"), rank="wake") for want in case.expected)
