"""Kilns, controllers and sensors at random, as wide as studios have them: figures common practice, no maker's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf, log
from random import Random

from simulations.firing import random_sensor_offset_k
from simulations.plant.builds import BRICK, FIBRE, PRESETS, Build, Lining
from simulations.plant.placement import USUAL_SENSOR, Placement
from simulations.plant.power_loop import Tuning
from simulations.plant.surroundings import Surroundings

_PRESET_SHARE = 0.25
"""Share of the firings that are made in one of the presets. [chosen: they are the kilns of every named firing]"""
_LEAST_W, _MOST_W = 1500.0, 12_000.0
"""Power of the kilns drawn [W]. [common practice: from a tabletop kiln's to a large studio kiln's]"""
_HOT_C, _SHELL_C, _ROOM_C = 800.0, 70.0, 20.0
"""Temperatures of hot face, shell and room at which a kiln's share of power to hold is reckoned [°C].
[common practice: a fuse]"""
_LEAST_DUTY, _MOST_DUTY = 0.2, 0.8
"""Share of its power that holds a kiln at 800 °C. [common practice: from a strong kiln to a tired one]"""
_WIRE_FILM_W_M2K, _WIRE_MM, _FILM_GROWS = 20.0, 3.0, 0.75
"""Convection to a cylinder of that diameter [W/m²K, mm], and the power of the diameter with which it falls.
[from memory: Nusselt numbers of horizontal cylinders in free convection grow as the fourth root of the Rayleigh
number, so that the film falls a little slower than the diameter grows]"""


_LATE_S, _LAG_S_PER_MM, _WALL_SHARE = 40.0, 12.0, 0.3
"""How late a kiln shows its elements' heat [s], and a sensor each millimetre of its diameter [s/mm]; share of the
wall's heat capacity that takes part in minutes. [chosen: roughly, as an owner fits a controller]"""
_WIDEST_K = 35.0
"""Widest proportional band of a good PID law [K]. [common practice: some per cent of the range]"""
_SWITCHED_K = 8.0
"""A kiln that climbs further than this before it is seen to isn't run by a switch [K].
[chosen: its holds would swing further than anybody fires glass with]"""
_SWITCH_MM = 1.5
"""Diameter of a switch's sensor [mm]. [common practice: a bare junction, so that it switches in time]"""
LAWS = ("good", "good", "good", "hot", "hot", "slack", "proportional", "switch", "switch")
"""How controllers work, each as often as it is drawn."""


def _log_uniform(rng: Random, low: float, high: float) -> float:
    """Return a figure between two, each doubling as likely as the next."""
    return float(low * (high / low) ** rng.random())


def hold_w(build: Build, hot_c: float = _HOT_C) -> float:
    """Return the power that holds a soaked kiln at ``hot_c`` [°C]: steady conduction through the wall, and leaks [W].

    One-dimensional conduction with area and conductivity linear: q · ∫dx/A = ∫k dT (Incropera et al., ch. 3).
    """
    k, grown = build.lining, build.outside_m2 - build.inside_m2
    conducted = k.k0 * (hot_c - _SHELL_C) + k.k1 / 2 * (hot_c**2 - _SHELL_C**2)
    return (conducted * grown / build.wall_m / log(build.outside_m2 / build.inside_m2)
            + build.leak_w_per_k * (hot_c - _ROOM_C))


def random_build(rng: Random) -> Build:
    """Return a kiln at random: a preset with its power and leaks varied, or one drawn from brick or fibre."""
    if rng.random() < _PRESET_SHARE:
        build = PRESETS[rng.choice(tuple(PRESETS))]
        return replace(build, power_w=build.power_w * rng.uniform(0.9, 1.15),
                       leak_w_per_k=build.leak_w_per_k * rng.uniform(0.6, 1.8))
    is_brick = rng.random() < 0.5
    base = BRICK if is_brick else FIBRE
    density = _log_uniform(rng, 450, 1600) if is_brick else rng.uniform(220, 320)
    conducts = (density / base.density if is_brick else 1.0) * rng.uniform(0.85, 1.25)
    lining = Lining(base.name, base.k0 * conducts, base.k1 * rng.uniform(0.8, 1.2), density, base.heat_capacity)
    wide_m = _log_uniform(rng, 0.26, 0.85)
    deep_m = wide_m * rng.uniform(0.6, 1.0)
    high_m = min(wide_m, rng.uniform(0.14, 0.40))
    shelf_m2 = 0.8 * wide_m * deep_m
    build = Build(
        "drawn-brick" if is_brick else "drawn-fibre", 1.0, (wide_m, deep_m, high_m),
        rng.uniform(0.060, 0.125) if is_brick else rng.uniform(0.050, 0.100), lining,
        rng.choice(("top", "top", "front")), 1.0,
        shelf_m2 * (_log_uniform(rng, 25, 350) if is_brick else _log_uniform(rng, 12, 120)),
        shelf_m2 * rng.uniform(7, 20), _log_uniform(rng, 0.06, 1.0) * (wide_m / 0.4),
    )
    power_w = hold_w(build) / rng.uniform(_LEAST_DUTY, _MOST_DUTY)
    power_w = min(_MOST_W, max(_LEAST_W, power_w))
    return replace(build, power_w=power_w, element_kg=power_w / 1000 * rng.uniform(0.24, 0.40))


def random_sensor(rng: Random) -> Placement:
    """Return the controller's own sensor at random: from a bare junction to a thick ceramic tube through the wall."""
    sees = _random_view(rng, elements=0.12, glass=0.35, shelf=0.45)
    diameter_mm = _log_uniform(rng, 1.5, 10.0)
    return Placement(
        diameter_mm, sees, film_w_m2k(diameter_mm), 16 * rng.random() ** 2, rng.choice((0, 1, 1, 2)),
        rng.uniform(0, 0.4),
    )


def random_probe(rng: Random) -> Placement:
    """Return our own probe at random: bare wire, sheath or ceramic, in any place that a maker finds for it."""
    sees = _random_view(rng, elements=0.20, glass=0.40, shelf=0.25)
    diameter_mm = _log_uniform(rng, 0.5, 12.0)
    return Placement(
        diameter_mm, sees, film_w_m2k(diameter_mm), 16 * rng.random() ** 2, rng.choice((0, 1, 1, 2)),
        rng.uniform(0, 1), rng.uniform(0.99, 1.01), rng.gauss(0.0, 0.2),
        rng.choice((0.0, 0.0, 0.0, 0.0625, 0.1, 0.25, 0.5, 1.0)),
    )


def _random_view(rng: Random, *, elements: float, glass: float, shelf: float) -> tuple[float, float, float, float]:
    """Return shares of a view at random, each up to the figure given, elements mostly few; the wall has the rest."""
    shares = elements * rng.random() ** 2, rng.uniform(0, glass), rng.uniform(0, shelf)
    return shares[0], 1.0 - sum(shares), shares[1], shares[2]


def film_w_m2k(diameter_mm: float) -> float:
    """Return the convection to a sensor of that diameter [W/m²K]."""
    return float(_WIRE_FILM_W_M2K * (_WIRE_MM / diameter_mm) ** _FILM_GROWS)


def _late_k(build: Build, sensor: Placement) -> float:
    """Return how far the kiln climbs under full power before the controller's sensor shows it [K]."""
    return (_LATE_S + _LAG_S_PER_MM * sensor.diameter_mm) * _climbs_k_per_s(build)


def _climbs_k_per_s(build: Build) -> float:
    """Return how fast a kiln climbs at first under full power [K/s]."""
    return build.power_w / (1000.0 * (build.glass_kg + build.shelf_kg) + _WALL_SHARE * build.wall_j_k)


def random_tuning(rng: Random, build: Build, sensor: Placement, law: str = "good", *, tidy: bool = False) -> Tuning:
    """Return a controller at random, its ``law`` one of LAWS: a good, hot or slack PID, a proportional one, a switch.

    Its band is as wide as a kiln that climbs so fast before it is seen to needs; one that would run far over its
    target by switching alone has no switch. A ``tidy`` one is a good PID law with a wait, whose climbs aren't
    stretched.
    """
    late_k = _late_k(build, sensor)
    band_k = min(_WIDEST_K, max(8.0, late_k * rng.uniform(1.2, 2.4)))
    wait_k = rng.uniform(3, 10) if tidy else rng.choice((rng.uniform(2, 6), rng.uniform(6, 25), inf))
    tuning = Tuning(
        band_k=band_k, integral_s=rng.uniform(300, 700), derivative_s=rng.uniform(15, 40),
        # Most controllers have learned nothing of their kiln: after a free fall they find the power to hold anew.
        feed_per_k=rng.uniform(4e-4, 6e-4) if tidy else rng.choice((0.0, 0.0, rng.uniform(0, 6e-4))),
        wait_k=wait_k, arrive_k=rng.uniform(1.0, 3.0),
        cycle_s=rng.choice((5.0, 10.0, 20.0, 30.0, 30.0)),
        stretch=rng.uniform(1.1, 1.8) if not tidy and rng.random() < 0.08 else 1.0,
    )
    if tidy:
        return tuning
    if law == "switch" and late_k > _SWITCHED_K:
        law = "hot"
    if law == "hot":
        tuning = replace(tuning, band_k=0.7 * band_k, derivative_s=rng.uniform(0, 15),
                         feed_per_k=rng.uniform(5e-4, 8e-4), integral_s=rng.uniform(250, 450))
    elif law == "slack":
        tuning = replace(tuning, band_k=1.5 * band_k, feed_per_k=rng.uniform(0, 1e-4),
                         integral_s=rng.uniform(600, 1500))
    elif law == "proportional":
        droop_k = rng.uniform(2, 5)
        tuning = replace(tuning, band_k=droop_k * build.power_w / hold_w(build), feed_per_k=0.0, integral_s=inf,
                         arrive_k=droop_k, wait_k=max(wait_k, 15.0), hold_from_k=1.3 * droop_k + 0.5)
    elif law == "switch":
        tuning = replace(tuning, hysteresis_k=rng.uniform(1.5, 4.0), arrive_k=3.0, wait_k=max(wait_k, 5.0),
                         cycle_s=min(rng.uniform(20, 120), max(20.0, _SWITCHED_K / _climbs_k_per_s(build))))
    return replace(
        tuning, forgets_integral=rng.random() < 0.3, starts_from_reading=rng.random() < 0.4,
        moves_every_s=60.0 if rng.random() < 0.2 else 0.0, is_whole_degrees=rng.random() < 0.3,
        is_by_minutes=rng.random() < 0.15, **({} if law == "proportional" else _random_clock(rng, tuning)),
    )


def _random_clock(rng: Random, tuning: Tuning) -> dict[str, float]:
    """Return from when a hold's clock runs: set point, 5 K before, when reached, or only while in band.

    A controller without waits begins with the set point only where the kiln keeps up with it, so it has 5 K.
    """
    droops_k = tuning.hysteresis_k
    sort = rng.choice(("wait", "near", "reached", "in-band"))
    if sort == "reached":
        return {"hold_from_k": max(0.5, droops_k)}
    if sort == "in-band":
        return {"hold_from_k": 5.0 + droops_k, "counts_within_k": 6.0 + droops_k}
    return {"hold_from_k": 5.0 + droops_k if sort == "near" else min(tuning.wait_k, 12.0) + droops_k}


def random_surroundings(
    rng: Random, build: Build, *, tidy: bool = False, laws: Sequence[str] = LAWS,
) -> Surroundings:
    """Return room, mains, load, controller and sensors at random.

    A ``tidy`` firing has no weak mains, an orderly controller, no warm start, and sensors as the presets have them.
    The others' controllers work by one of ``laws``.
    """
    law = "good" if tidy else rng.choice(laws)
    sensor = USUAL_SENSOR if tidy else random_sensor(rng)
    if law == "switch":
        sensor = replace(sensor, diameter_mm=_SWITCH_MM, film_w_m2k=film_w_m2k(_SWITCH_MM))
    weak = not tidy and rng.random() < 0.1
    around = Surroundings(
        room_c=rng.uniform(9, 28), room_swing_k=rng.uniform(0, 5), day_s=rng.uniform(0, 86_400),
        mains_share=rng.uniform(0.80, 0.90) if weak else rng.uniform(0.92, 1.03), mains_swing=rng.uniform(0, 0.02),
        sensor_offset_k=random_sensor_offset_k(rng), load_share=rng.uniform(0.6, 1.4),
        sheath_mm=rng.choice((1.5, 3.0, 3.0, 3.0, 4.5, 6.0)),
        hysteresis_k=rng.uniform(0, 4) if rng.random() < 0.5 else 0.0,
        tuning=random_tuning(rng, build, sensor, law, tidy=tidy),
    )
    if tidy:
        return around
    warm = rng.random()
    return replace(
        around, start_c=rng.uniform(60, 120) if warm < 0.10 else rng.uniform(120, 250) if warm < 0.13 else None,
        probe=random_probe(rng), sensor=sensor,
    )
