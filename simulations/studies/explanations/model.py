"""Faults as states beside the parts of the plan: which explanation fits the readings best, and since when.

A switching model, tried in shadow (docs/figures/fault-states-2026-11-29.md). Every explanation says how fast the kiln
should go: a part of the plan at its rate, a kiln without power by Newton's law of cooling, a welded contact at full
climb, a stall not at all, an open lid by a quick fall that fades. For each explanation the likeliest path is kept,
with its onset (the Viterbi algorithm, as in daemon/firing/tracking/follower.py). A fault costs what its rarity is
worth; so does leaving a part of the plan too early. Costs are in nats.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from daemon.firing.detection.rate_test import LURCH_BELOW_C
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from simulations.studies.explanations.filter import Motion, begun
from simulations.studies.explanations.laws import FOLLOWS, faults_in, kind_of, law

_FAULT_NATS, _OVER_NATS, _OTHER_NATS, _ON_NATS, _EARLY_NATS = 11.0, 7.0, 9.0, 3.0, 12.0
"""Prices of a fault that begins at a given beat, of one that ends, of another one in its place, of going on in the
plan where that is due, and where most of a part is missing. [derived: one firing in fifty has a fault, at one of 1500
beats, of half a dozen; the others within some hundred or twenty beats; the last just above a fault's]"""
_DONE_SHARE, _EARLY_SHARE, _SKIPPED_S = 0.85, 0.5, 900.0
"""A hold is due to end from the first share of its time on; before the second it ends at the whole price. A hold that
is skipped costs that too, from so long on [s]. [chosen: boundaries are known to some minutes]"""
_LEVEL_SD_K, _BEYOND_K, _BEYOND_NATS = 12.0, 12.0, 0.4
"""A target is reached within so much of what can be told [K]; to be beyond it by more than the second [K] costs the
third at every beat. [common practice: controllers overshoot and droop; ten minutes beyond are worth a fault]"""
_MEDIAN_SHARE, _WANDER_SHARE, _LEAST_VAR_K2 = 0.5, 0.4, 0.05
"""The temperature of a beat has these shares of a reading's noise and of the wander, and this variance at least [K²].
[derived: √(π/2) / √6, the median of six normal readings; the wander changes little within a minute]"""
_LEARNS, _MOST_SCALE = 0.02, 16.0
"""Share of a beat in what is learned of how much more the readings stray, as a factor of their variance, and its
limit. [chosen: a memory of a quarter of an hour; four standard deviations]"""
_LONGEST_GAP_S, _OVER_S = 300.0, 1800.0
"""Over a longer gap nothing is predicted; a fault that has been over for so long is history [s].
[chosen: longer than a slow logger's step, and than the air takes to come back]"""
_MOST_NATS = 60.0
"""No explanation is held to be worse than the best by more [nats]. [chosen: beyond any doubt]"""


@dataclass(slots=True)
class Path:
    """The likeliest path to one explanation."""

    name: str
    index: int
    """Which part of the plan it follows, or last followed."""
    since_s: float
    nats: float
    motion: Motion
    part_s: float
    """Since when it has been in its part of the plan, faults in it included [s]."""
    is_early: bool = False
    """Whether it left a part of the plan before its time."""
    fault: str | None = None
    """The kind of fault it tells, or told: it may be over by now."""
    fault_s: float = 0.0
    """When that began [s]."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """What explains the readings best.

    Attributes
    ----------
    kind
        The kind of alert that would tell it; None where the plan does, or a fault is over.
    since_s
        When the likeliest fault began [s].
    margin_nats
        By how much a path with a fault is likelier than the best without; negative where it is not.
    fault
        The kind of the likeliest fault, though the plan may be likelier.
    """

    kind: str | None
    since_s: float
    margin_nats: float
    fault: str | None = None


class Explanations:
    """Carries the likeliest path to every explanation.

    Parameters
    ----------
    parts
        The parts of the plan.
    """

    def __init__(self, parts: tuple[PlannedPart, ...]) -> None:
        self._parts = parts
        self._paths: dict[tuple[str, int, bool], Path] = {}
        """By explanation, part (−1 for faults), and whether a fault lies on the way."""
        self._fresh: dict[tuple[str, bool], Path] = {}
        """Younger paths to a fault than the one kept: each has two beats to show that it is better."""
        self._is_even = False
        self._last_s = -inf
        self._t_s = self._temp_c = 0.0
        self._scale = 1.0

    def see(self, t_s: float, temp_c: float, view: View) -> Explanation | None:
        """Take a beat; return the best explanation, None where no plan runs or the kiln is cold.

        ``view`` may be some minutes old: after a step down there is none until the readings have settled.
        """
        gap_s, self._last_s = t_s - self._last_s, t_s
        self._t_s, self._temp_c = t_s, temp_c
        here = view.state - 1
        if not 0 <= here < len(self._parts) or temp_c < LURCH_BELOW_C:
            self._paths, self._fresh = {}, {}
            return None
        if gap_s > _LONGEST_GAP_S or not self._paths:
            gap_s = 0.0
            first = law(FOLLOWS, self._parts[here], view, temp_c, 0.0)
            self._paths = {(FOLLOWS, here, False): Path(
                FOLLOWS, here, t_s, 0.0, begun(first, temp_c, 1.0), view.part_start_s)}
            self._fresh = {}
        self._let_begin(view, here)
        self._weigh(view, gap_s)
        return self._best()

    def _weigh(self, view: View, gap_s: float) -> None:
        """Let every path take the temperature."""
        noise_k2 = self._scale * ((_MEDIAN_SHARE * view.trail.noise_k) ** 2 + (_WANDER_SHARE * view.wander_k) ** 2
                                  + _LEAST_VAR_K2)
        best, surprise = inf, 1.0
        paths = (*self._paths.values(), *self._fresh.values())
        for path in paths:
            path.motion.advance(gap_s)
            cost, ratio = path.motion.take(self._temp_c, noise_k2)
            path.nats += cost + self._beyond(path, view)
            if path.nats < best:
                best, surprise = path.nats, ratio
        self._scale += _LEARNS * (min(_MOST_SCALE, max(1.0, self._scale * surprise)) - self._scale)
        for path in paths:
            path.nats = min(path.nats - best, _MOST_NATS)

    def _best(self) -> Explanation:
        """Return the best explanation, and how much better it is than the plan without any fault."""
        best = min(self._paths.values(), key=lambda path: path.nats)
        is_over = best.name in (FOLLOWS, "shut") and not best.is_early
        if best.fault is not None and is_over and self._t_s - best.since_s > _OVER_S:
            best.name, best.fault = FOLLOWS, None
            self._paths, self._fresh = {(FOLLOWS, best.index, False): best}, {}
        faulty = [path for path in self._paths.values() if path.fault is not None]
        if not faulty:
            return Explanation(None, self._t_s, -_MOST_NATS)
        whole = min((path.nats for path in self._paths.values() if path.fault is None), default=_MOST_NATS)
        likeliest = min(faulty, key=lambda path: path.nats)
        is_told = best.fault is not None and not is_over
        return Explanation(likeliest.fault if is_told else None, likeliest.fault_s, whole - likeliest.nats,
                           likeliest.fault)

    def _let_begin(self, view: View, here: int) -> None:
        """Let every explanation begin at this beat, from the likeliest path."""
        self._is_even = not self._is_even
        for key in [key for key in self._fresh if key[1] == self._is_even]:
            fresh = self._fresh.pop(key)
            if fresh.nats < self._paths[key[0], -1, True].nats:
                self._paths[key[0], -1, True] = fresh
        best = min(self._paths.values(), key=lambda path: path.nats)
        if best.name == FOLLOWS:
            self._go_on(best, view)
        else:
            for back in {best.index, here}:
                self._offer(FOLLOWS, back, view, _ON_NATS if best.name == "shut" else _OVER_NATS, best)
        for name in faults_in(self._parts[best.index]):
            if name != best.name:
                self._offer(name, best.index, view, _FAULT_NATS if best.name == FOLLOWS else _OTHER_NATS, best)
        if best.name in ("lid", "vent"):
            self._offer("shut", best.index, view, _ON_NATS, best)

    def _go_on(self, best: Path, view: View) -> None:
        """Let the likeliest path go on to the next part of the plan, or skip a hold."""
        price = self._leaving(best, view)
        for later in range(best.index + 1, min(best.index + 3, len(self._parts))):
            skipped = self._parts[later - 1]
            if later > best.index + 1:
                if skipped.part != "hold":
                    break
                price += _EARLY_NATS * min(1.0, skipped.duration_s / _SKIPPED_S)
            self._offer(FOLLOWS, later, view, price, best, is_early=price > _EARLY_NATS / 2)

    def _offer(self, name: str, index: int, view: View, price: float, best: Path, *, is_early: bool = False) -> None:
        """Begin an explanation at this beat, where no earlier beginning is better."""
        fault, fault_s = best.fault, best.fault_s
        mine = "hold-cut-short" if is_early else kind_of(name, self._parts[index])
        if mine is not None:
            fault, fault_s = mine, self._t_s
        key = (name, index, fault is not None) if name == FOLLOWS else (name, -1, True)
        old, nats = self._paths.get(key), best.nats + price
        is_better = old is None or (old is not best and old.nats > nats)
        if not is_better and (name == FOLLOWS or old is best):
            return
        motion = begun(law(name, self._parts[index], view, self._temp_c, best.motion.rate * 3600),
                       best.motion.temp_c, best.motion.temp_var)
        path = Path(name, index, self._t_s, nats, motion, best.part_s if index == best.index else self._t_s,
                    is_early, fault, fault_s)
        if is_better:
            self._paths[key] = path
        else:
            self._fresh[name, self._is_even] = path

    def _leaving(self, path: Path, view: View) -> float:
        """Return the price of leaving a part of the plan now [nats]."""
        part = self._parts[path.index]
        if part.part == "hold":
            done = (self._t_s - path.part_s) / max(part.duration_s, 60.0)
            missing = min(1.0, max(0.0, (_DONE_SHARE - done) / (_DONE_SHARE - _EARLY_SHARE)))
            return _ON_NATS + (_EARLY_NATS - _ON_NATS) * missing
        left_k = (part.to_c - (self._temp_c - view.offset_k)) * part.direction - view.near_k
        return _ON_NATS + min(_EARLY_NATS, 0.5 * (max(0.0, left_k) / _LEVEL_SD_K) ** 2)

    def _beyond(self, path: Path, view: View) -> float:
        """Return the price of being beyond the target of the part that is followed [nats]."""
        if path.name not in (FOLLOWS, "fast-climb", "fast-fall", "weak"):
            return 0.0
        part = self._parts[path.index]
        off_k = self._temp_c - view.offset_k - part.to_c
        beyond_k = off_k * part.direction if part.direction else abs(off_k)
        return _BEYOND_NATS if beyond_k > view.near_k + _BEYOND_K else 0.0
