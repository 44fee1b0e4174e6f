"""What the watches are told of a kiln: its figures, and how far its firings kept to them.

Only firings count in which nothing was told against them (``is_quiet``), three at least. Where the firings differ by
more than a fault would, the watches are told nothing: a kiln that is known badly must hide nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from daemon.firing.energy.known_kiln import KilnNow, KnownKiln
from daemon.firing.energy.thermal import Thermal, walls_along
from daemon.kiln.climbs import climbs_of, shown_power, waits_s_per_k
from daemon.kiln.past_firing import PastFiring
from daemon.kiln.spread import times_prior

LEAST_FIRINGS = 3
"""So many firings must have gone well. [chosen: fewer are no defence against one that went wrong unseen]"""
_CLIMB_OFF, _FALL_OFF = 0.04, 0.12
"""How far a climb's power and a fall without power may be off before any is known [1]. [tuned: kilns of the bench,
seeds 2000 to 2019 of benchmarks.known_kiln; the second as daemon.kiln.learn has it for a free fall]"""
WIDEST_CLIMB_OFF, WIDEST_FALL_OFF = 0.08, 0.25
"""A kiln whose climbs or falls are further off is not known [1]; the falls tell what it loses. [derived: two
deviations of the first stay below what one element of four gives; chosen: two of the second stay below half of a
fall]"""
_AROUND_ROWS = 5
"""A rate is taken over so many readings to each side. [chosen: ten minutes in all, as PastFiring takes it]"""
_SETTLES_S, _NEAR_END_S, _COLD_C, _NEAR_TARGET_K = 600.0, 300.0, 150.0, 25.0
"""A climb is looked at from so long after it began until so long before its end, above the third and so far below its
target [s, s, °C, K]. [chosen: as the watch itself looks at it]"""
_LEAST_ROWS = 10
"""Fewer readings of a climb or a fall show nothing. [chosen: ten minutes]"""
_LOW_SHARE = 0.25
"""The power of a climb is the one that this share of its readings is below. [chosen: a look inside, or a vent, takes
less of a climb]"""


def for_watches(past: Sequence[PastFiring], thermal: Thermal) -> KnownKiln | None:
    """Return what the watches may hold a night against; None where too little is known.

    Parameters
    ----------
    past
        Whole firings.
    thermal
        The kiln's figures, learned from them.
    """
    quiet = [firing for firing in past if firing.is_quiet]
    if len(quiet) < LEAST_FIRINGS:
        return None
    climbs = climbs_of(quiet, thermal)
    if not climbs:
        return None
    known = KnownKiln(thermal, shown_power(climbs), waits_s_per_k(climbs), _CLIMB_OFF)
    climb_offs = [off for firing in quiet for off in _climbs_off(firing, known)]
    fall_offs = [off for firing in quiet for off in _falls_off(firing, known)]
    climb_off, fall_off = (usual * times_prior([(off / usual) ** 2 for off in offs])
                           for usual, offs in ((_CLIMB_OFF, climb_offs), (_FALL_OFF, fall_offs)))
    is_well_known = climb_off <= WIDEST_CLIMB_OFF and fall_off <= WIDEST_FALL_OFF
    return known._replace(climb_off=climb_off) if is_well_known else None


def _nows(firing: PastFiring, known: KnownKiln) -> list[KilnNow]:
    return [KilnNow(known, walls_c, firing.room_c)
            for walls_c in walls_along(known.thermal, firing.trace, firing.room_c)]


def _climbs_off(firing: PastFiring, known: KnownKiln) -> Iterator[float]:
    """Yield by what share the power of each climb with a planned rate was off."""
    nows = _nows(firing, known)
    for ran in firing.ran:
        planned = firing.planned[ran.part]
        if planned.direction <= 0 or planned.rate_c_per_h is None:
            continue
        rows = [i for i in firing.rows(ran.start_s + _SETTLES_S, ran.end_s - _NEAR_END_S)
                if _COLD_C < firing.trace[i][1] < planned.to_c - _NEAR_TARGET_K]
        if len(rows) >= _LEAST_ROWS:
            shares = sorted((firing.slopes[i] + nows[i].natural_k_per_s(firing.trace[i][1]))
                            / nows[i].due_k_per_s(firing.trace[i][1], planned.rate_c_per_h / 3600) for i in rows)
            yield shares[int(_LOW_SHARE * len(shares))] - 1


def _falls_off(firing: PastFiring, known: KnownKiln) -> Iterator[float]:
    """Yield by what share each fall without power was off, in the middle."""
    nows = _nows(firing, known)
    for fall in firing.unpowered_falls():
        rows = fall[_AROUND_ROWS:-_AROUND_ROWS]
        shares = [-firing.slopes[i] / natural for i in rows
                  if (natural := nows[i].natural_k_per_s(firing.trace[i][1])) > 0.0]
        if len(shares) >= _LEAST_ROWS:
            yield median(shares) - 1
