"""Firings at random in which nothing is wrong: kiln, plan, controller, probe and maker's habits, all from one seed.

A clean firing may be untidy: started early or late or hours later, climbs stretched by a controller that waits,
vents and peeks, a hold lengthened by hand, rows missing, °F, a casting of forty hours. A harsh one is a clean one
with a noisy probe. (A firing in which one thing goes wrong is made by ``simulations.studies.faulty.case``.) Ranges
are common practice, wide enough for what kilns and makers do.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

from simulations import first_bench
from simulations.cases import STORED_SHARE, Case
from simulations.first_bench import CRASHED_OVER_K
from simulations.plant.builds import Build
from simulations.plant.surroundings import Surroundings
from simulations.random_kilns import random_build, random_surroundings
from simulations.random_plans import Program, random_program, shelf

CLEAN, HARSH = "clean", "harsh"
HIGHEST_OFFSET_K = 12.0
"""No probe is taken to read further off than this [K]. [common practice: with that it would be replaced]"""
THIN_MM = 9.0
"""Up to this thickness a maker props the lid while it is still warm [mm]. [common practice]"""
INTERVALS_S = (5,) * 14 + (1, 10, 10, 15, 20, 30, 60, 60)
"""Seconds between the readings of a logger, each as often as it is drawn. [chosen: Lehrling's own mostly]"""
TOLD_SHARE = 0.1
"""Share of the owners who have told Lehrling the probe's offset. [chosen: few do]"""
_PRESSED_AT_ONCE, _PRESSED_LATE, _PRESSED_EARLY = 0.70, 0.82, 0.94
"""Shares, added up, of the firings in which start is pressed with the controller, after it and before it; in the rest
the controller's own delayed start is hours later. [chosen: mostly at once, each other often enough to be met]"""


@dataclass(frozen=True, slots=True)
class Bench:
    """Where the chances of a firing come from: how wide kilns, controllers, sensors and makers are drawn."""

    build: Callable[[Random], Build]
    surroundings: Callable[..., Surroundings]
    habits: Callable[[Random, Program], tuple[str, ...]]
    pressed_late_s: Callable[[Random], float]
    intervals_s: tuple[int, ...]
    told_share: float


def random_start_s(rng: Random, pressed_late_s: Callable[[Random], float], *, hours: bool = True) -> float:
    """Return when the controller is started [s from the start press]; hours later only where ``hours`` allows it."""
    luck = rng.random() if hours else rng.uniform(0.0, _PRESSED_EARLY)
    if luck < _PRESSED_AT_ONCE:
        return rng.uniform(0, 300)
    if luck < _PRESSED_LATE:
        return -pressed_late_s(rng)
    if luck < _PRESSED_EARLY:
        return rng.uniform(300, 1200)
    return rng.uniform(1, 8) * 3600


def pressed_late_s(rng: Random) -> float:
    """Return how long before start is pressed in Lehrling the controller was started, where it was [s].

    Some press when they look in again, and the kiln is at 300 °C by then.
    """
    return rng.uniform(60, 1200) if rng.random() < 0.6 else rng.uniform(1200, 6000)


def random_offset_k(rng: Random) -> float:
    """Return how much too high Lehrling's probe reads [K], at random."""
    return max(-HIGHEST_OFFSET_K, min(HIGHEST_OFFSET_K, rng.gauss(0.0, 4.0)))


def random_habits(rng: Random, program: Program) -> tuple[str, ...]:
    """Return what a maker does to a firing without anything being wrong, spelt as faults are."""
    chance = rng.random
    found = [*_vents(rng, program), *_looks(rng, program), *_keys(rng, program)]
    if chance() < 0.08:
        found.append(f"gap={rng.uniform(2, 20):.0f}min@{rng.uniform(0.5, 9):.1f}h")
    if chance() < 0.10:
        found.append(f"spikes={rng.uniform(0.3, 4):.1f}")
    if chance() < 0.04:
        found.append(f"power-cut={rng.uniform(5, 25):.0f}s@{rng.uniform(0.5, 9):.1f}h")
    if chance() < 0.06:
        found.append(f"swing={rng.uniform(1, 3.5):.1f}@step{rng.choice((program.top, program.anneal))}")
    return tuple(found)


def _vents(rng: Random, program: Program) -> list[str]:
    """Return vents, plugs, propped lids and opened doors: to fall faster, to burn off, and when it is nearly cold."""
    chance, fall, found = rng.random, f"step{program.anneal}", []
    steps = program.plan.steps
    if chance() < 0.20 and steps[program.top - 1].to_c - steps[program.anneal - 1].to_c > CRASHED_OVER_K:
        found.append(rng.choice((
            f"vent={rng.uniform(0.3, 2.0):.2f},{rng.uniform(1, 6):.1f}min@{fall}:ramp+{rng.uniform(20, 240):.0f}s",
            f"vent={rng.uniform(0.3, 1.0):.2f},{rng.uniform(4, 10):.0f}min@{fall}:ramp+60s",
            f"ajar={rng.uniform(0.04, 0.25):.2f},{rng.uniform(1, 5):.1f}min@{fall}:ramp+{rng.uniform(20, 240):.0f}s",
        )))
    if chance() < 0.12:
        found.append(f"vent={rng.uniform(0.05, 0.4):.2f},{rng.uniform(1, 2.5):.1f}h@step1:ramp")
    if program.thickness_mm <= THIN_MM:
        if chance() < 0.25:
            found.append(f"vent={rng.uniform(0.2, 0.8):.2f}@below{rng.randint(180, 250)}")
        if chance() < 0.25:
            found.append(f"ajar={rng.uniform(0.05, 0.3):.2f}@below{rng.randint(80, 200)}")
        if chance() < 0.25:
            found.append(f"ajar=1@below{rng.randint(50, 70)}")
    return found


def _looks(rng: Random, program: Program) -> list[str]:
    """Return short looks into the kiln: at the top, where slumps are judged by eye, and in the climb to it."""
    found = []
    if rng.random() < 0.2:
        found += [f"lid={rng.uniform(5, 40):.0f}s@step{program.top}:hold+{60 + 150 * n}s"
                  for n in range(rng.randint(1, 2))]
    if rng.random() < 0.05:
        found.append(f"lid={rng.uniform(5, 20):.0f}s@step{program.top}:ramp+{rng.uniform(300, 1500):.0f}s")
    return found


def _keys(rng: Random, program: Program) -> list[str]:
    """Return what is keyed in under way: minutes added, the end of a hold skipped, a first start begun again."""
    chance, found = rng.random, []
    if chance() < 0.12:
        found.append(rng.choice((
            f"hold-long={rng.uniform(1.1, 1.45):.2f}@step{program.top}",
            f"hold-long={rng.uniform(1.2, 2.0):.2f}@step{program.anneal}",
        )))
    elif chance() < 0.06:
        found.append(f"hold-short={rng.uniform(0.6, 0.9):.2f}@step{program.top}")
    if chance() < 0.06:
        found.append(f"restart={rng.uniform(0.5, 15):.1f}min@above{rng.randint(40, 140)}")
    return found


GROWN = Bench(random_build, random_surroundings, random_habits, pressed_late_s, INTERVALS_S, TOLD_SHARE)
"""The bench that studies are made on."""
FIRST = Bench(
    first_bench.random_build, first_bench.random_surroundings, first_bench.random_habits, first_bench.pressed_late_s,
    first_bench.INTERVALS_S, first_bench.TOLD_SHARE)
"""The narrow one the watcher grew up with."""


def clean_case(seed: int, bench: Bench = GROWN, chance: Callable[[str], Random] = Random) -> Case:
    """Return a firing in which nothing is wrong; ``chance`` makes of a text what all its draws come from."""
    rng = chance(f"{CLEAN} {seed}")
    program = random_program(rng)
    offset_k, build = random_offset_k(rng), bench.build(rng)
    return Case(
        name=f"{CLEAN}-{seed}", row=CLEAN, plan=program.plan, glass=program.glass,
        thickness_mm=program.thickness_mm, kiln=build, habits=bench.habits(rng, program),
        seed=rng.randrange(2**31), start_s=random_start_s(rng, bench.pressed_late_s), offset_k=offset_k,
        is_offset_known=rng.random() < bench.told_share, noise_k=rng.uniform(0.1, 1.0) / STORED_SHARE,
        wander_k=rng.uniform(0.1, 0.65), interval_s=rng.choice(bench.intervals_s),
        kind=rng.choice("KKKKNSR"), around=bench.surroundings(rng, build),
        shelf=shelf(),
    )


def harsh_case(seed: int, bench: Bench = GROWN, chance: Callable[[str], Random] = Random) -> Case:
    """Return a clean firing with a noisy probe: more white noise and wander, hum or spikes."""
    rng = chance(f"{HARSH} {seed}")
    clean = clean_case(rng.randrange(2**31), bench, chance)
    harsh = (f"spikes={rng.uniform(5, 60):.0f}", f"hum={rng.uniform(0.5, 2):.1f}")
    return replace(
        clean, name=f"{HARSH}-{seed}", row=HARSH, noise_k=rng.uniform(1.2, 2.5) / STORED_SHARE,
        wander_k=rng.uniform(0.6, 1.1), interval_s=5, habits=(*clean.habits, *rng.sample(harsh, rng.randint(1, 2))),
    )
