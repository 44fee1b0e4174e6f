"""Kilns whose elements glow in the probe's sight, and heat again slowly after a fall: firings named ``glow-...``.

A probe that sees much of the elements reads higher the more power they have. Its owner once set it right in a hot
hold, where they have much. So it reads low where they have none: by 10 to 40 K in a fall without power, and the less
the more of its power the kiln then takes to hold its anneal. A controller with a wide band or a slow integral takes
half an hour and more to give that power, and the reading dips below the anneal and creeps back as long. At the end of
the hold the same happens the other way round.

The grown bench (``simulations.random_kilns``) draws few such probes, sets none of them right in a hot hold, and its
elements glow less. Its firings stay as they are; these are drawn beside them, with the same plans and makers.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf
from random import Random

from simulations.generator import INTERVALS_S, TOLD_SHARE, Bench, pressed_late_s, random_habits
from simulations.plant.builds import Build
from simulations.plant.kiln import STEP_S, Kiln
from simulations.plant.placement import Placement
from simulations.plant.power_loop import Tuning
from simulations.plant.sheath import Sheath
from simulations.plant.surroundings import Surroundings
from simulations.random_kilns import film_w_m2k
from simulations.random_kilns import random_build as grown_build
from simulations.random_kilns import random_surroundings as grown_surroundings

_SET_AT_C = 760.0
"""A probe is set right in a hold at this temperature [°C]. [chosen: between a tack and a full fuse]"""
_LEAST_LOAD_W_M2, _MOST_LOAD_W_M2 = 15_000.0, 30_000.0
"""Surface loads of elements, full on [W/m²]. [from memory: coils for kilns are loaded with 1.5 to 3 W/cm²]"""
_LEAST_SEEN, _MOST_SEEN = 0.10, 0.35
"""Shares of the probe's view that elements take. [chosen: a probe beside a row of elements, up to one before them]"""
_LEAST_MM, _MOST_MM = 3.0, 8.0
"""Diameters of the sheath [mm]. [common practice: a bare wire in sight of elements swings with each cycle, and its
owner puts it into a sheath]"""
_SLOW_SHARE = 0.6
"""Share of the controllers that give power back slowly. [chosen: more than half, since these are looked for]"""
_LAWS = ("good", "good", "hot", "slack", "proportional")
"""How the others work; a controller that only switches saws, which is another matter.
[chosen: as simulations.random_kilns draws them]"""
_PROPORTIONAL_K = 5.0
"""In the firing in which a probe is set right, the power goes from full to none over so much [K]. [chosen: it comes
close to its target and does not swing]"""
_SETTLES_S, _WATCHED_S, _STRONG_S = 900.0, 300.0, 12 * 3600.0
"""A hold has settled after the first, both sensors are then watched for the second, and a kiln that has not come so
far within the third is not waited for [s]. [chosen: as a maker who looks at two displays does]"""


def reads_high_k(build: Build, probe: Placement, sensor: Placement) -> float:
    """Return how much higher a probe reads than the kiln's own sensor in a hot hold that begins from cold [K].

    The mean over some minutes, after the hold has settled. The walls still take heat then, as in any firing, so that
    the elements have more power than a soaked kiln needs.
    """
    kiln = Kiln(build)
    ours, theirs = Sheath(probe, kiln.room_c), Sheath(sensor, kiln.room_c)
    t_s, held_s, seen = 0.0, 0.0, []
    while held_s < _SETTLES_S + _WATCHED_S and t_s < _STRONG_S:
        duty = min(1.0, max(0.0, (_SET_AT_C + _PROPORTIONAL_K / 2 - theirs.temp_c) / _PROPORTIONAL_K))
        kiln.step(STEP_S, duty * build.power_w)
        ours.follow(STEP_S, kiln)
        theirs.follow(STEP_S, kiln)
        t_s += STEP_S
        held_s += STEP_S if held_s or duty < 1.0 else 0.0
        if held_s > _SETTLES_S:
            seen.append(ours.temp_c - theirs.temp_c)
    return sum(seen) / len(seen) if seen else 0.0


def random_build(rng: Random) -> Build:
    """Return a kiln as the grown bench draws it, with elements that glow as much or more."""
    build = grown_build(rng)
    return replace(build, element_load_w_m2=rng.uniform(_LEAST_LOAD_W_M2, _MOST_LOAD_W_M2))


def random_surroundings(rng: Random, build: Build, *, tidy: bool = False) -> Surroundings:
    """Return what the grown bench draws, with a probe that sees the elements, and a slow controller more often.

    A ``tidy`` firing keeps its controller; its sensor is as the presets have it, and its probe sees elements too.
    """
    around = grown_surroundings(rng, build, tidy=tidy, laws=_LAWS)
    tuning = around.tuning if tidy or rng.random() >= _SLOW_SHARE else _slow(rng, around.tuning)
    like = around.probe or Placement(around.sheath_mm)
    return replace(around, tuning=tuning, probe=random_probe(rng, build, like, around.sensor))


def random_probe(rng: Random, build: Build, like: Placement, sensor: Placement) -> Placement:
    """Return ``like`` in sight of the elements and in a sheath, set right against ``sensor`` in a hot hold."""
    seen = rng.uniform(_LEAST_SEEN, _MOST_SEEN)
    left = (1.0 - seen) / (1.0 - like.sees[0])
    _, wall, glass, shelf = (share * left for share in like.sees)
    diameter_mm = rng.uniform(_LEAST_MM, _MOST_MM)
    probe = replace(
        like, sees=(seen, wall, glass, shelf), diameter_mm=diameter_mm, film_w_m2k=film_w_m2k(diameter_mm))
    return replace(probe, shift_k=-reads_high_k(build, probe, sensor))


def _slow(rng: Random, tuning: Tuning) -> Tuning:
    """Return a controller that gives power back slowly after a fall: a wide band, and a slow integral.

    It keeps its integral from part to part: without, so wide a band would let the kiln itself sag by tens of kelvins
    at each, and its owner would have it set up anew.
    """
    return replace(
        tuning, band_k=rng.uniform(30, 80), integral_s=rng.uniform(600, 1500), derivative_s=rng.uniform(0, 20),
        feed_per_k=0.0, wait_k=rng.choice((inf, rng.uniform(8, 25))), forgets_integral=False)


GLOW = Bench(random_build, random_surroundings, random_habits, pressed_late_s, INTERVALS_S, TOLD_SHARE)
"""The bench of these kilns."""
