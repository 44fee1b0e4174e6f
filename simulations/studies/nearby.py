"""Firings a little different from one that the bench drew: what a hunt goes on by.

A small change moves one or two of the draws that a firing is made of, and makes the firing anew from all of them. So
nothing leaves the ranges in which the bench draws, a kiln's controller still fits the kiln, and no range is written
down twice. A change is small where it touches one thing: a habit, the noise, the kiln with its controller.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from random import Random

from simulations.cases import Case
from simulations.generator import CLEAN, HARSH, clean_case, harsh_case
from simulations.studies.faulty.case import faulty_case
from simulations.studies.kept import differences

Place = tuple[str, int, int]
"""Which draw: the text its chance was made of, its number, and its bits, 0 for a share between 0 and 1."""
MOVABLE = frozenset({
    "kiln", "faults", "habits", "start_s", "offset_k", "is_offset_known", "noise_k", "wander_k", "interval_s",
    "around"})
"""The fields of a case that a change may touch: no other plan, glass, thermocouple or chance of the noise."""
_DRAWN_WITH_OFFSET = frozenset({"around.sensor_offset_k", "noise_k"})
"""Normal figures are drawn in pairs: with the probe's difference comes one of these."""
MOST_FIELDS = 8
"""A change that alters more figures at once is another firing. [chosen: a lining with all that follows from it]"""
_TRIES = 400
"""So many draws are moved in search of a small change. [chosen: most firings have a hundred draws]"""
_STEP, _ANEW_SHARE = 0.15, 0.25
"""How far a draw between 0 and 1 is moved, a standard deviation, and how often it is drawn anew instead.
[chosen: a sixth of its range is a small change, and no range is out of reach]"""
_LAST_SHARE = 1.0 - 2.0**-53
"""The largest share that is drawn. [source: Python, random.random: multiples of 2^-53 below 1]"""


class _Taped(Random):
    """A chance whose draws are written down, and some of which are given. ``tape`` and ``text`` are set once made."""

    tape: Tape
    text: str
    _count = 0

    def random(self) -> float:
        """Return the next figure between 0 and 1."""
        return float(self._next(super().random(), 0))

    def getrandbits(self, k: int, /) -> int:
        """Return the next whole number of ``k`` bits."""
        return int(self._next(super().getrandbits(k), k))

    def _next(self, value: float, bits: int) -> float:
        """Return what is given for this draw, or ``value``, and write it down."""
        place = (self.text, self._count, bits)
        self._count += 1
        value = self.tape.given.get(place, value)
        self.tape.drawn[place] = value
        return value


@dataclass(frozen=True, slots=True)
class Tape:
    """The draws of one firing: those that are given, and all of them."""

    given: Mapping[Place, float]
    drawn: dict[Place, float] = field(default_factory=dict)

    def chance(self, text: str) -> Random:
        """Return the chance made of ``text``, as ``random.Random`` makes it."""
        made = _Taped(text)
        made.tape, made.text = self, text
        return made

    def case(self, name: str) -> Case:
        """Return the firing of that row and seed with these draws."""
        row, _, seed = name.rpartition("-")
        if row in (CLEAN, HARSH):
            return (clean_case if row == CLEAN else harsh_case)(int(seed), chance=self.chance)
        return faulty_case(row, int(seed), chance=self.chance)


def thing_of(changes: Mapping[str, object]) -> str | None:
    """Return the one thing that a small change touches, one of MOVABLE: a kiln takes its controller with it.

    None where it touches nothing, several things or too many figures of one, or no plain figure.
    """
    paths = set(changes) - (_DRAWN_WITH_OFFSET if "offset_k" in changes else set())
    things = {"kiln" if path.startswith(("kiln.", "around.tuning.")) else path.partition(".")[0] for path in paths}
    if len(things) != 1 or not things < MOVABLE or len(changes) > MOST_FIELDS:
        return None
    return None if any(path in ("kiln", "around", "around.probe") for path in changes) else things.pop()


def nearby(name: str, given: Mapping[Place, float], rng: Random) -> tuple[dict[Place, float], Case] | None:
    """Return the firing with one or two small changes, and its draws; None where none was found."""
    now = dict(given)
    case = None
    for _ in range(rng.choice((1, 1, 2))):
        tape = Tape(now)
        was = tape.case(name)
        wanted = rng.choice([thing for thing in sorted(MOVABLE) if getattr(was, thing) != ()])
        for n in range(_TRIES):
            place = rng.choice(tuple(tape.drawn))
            tried = {**now, place: _moved(tape.drawn[place], place[2], rng)}
            other = Tape(tried).case(name)
            thing = thing_of(differences(was, other))
            # Each thing has the same chance, however many draws it is made of; some firings lack it.
            if thing == wanted or (thing is not None and n >= _TRIES // 2):
                now, case = tried, other
                break
    return None if case is None else (now, case)


def _moved(value: float, bits: int, rng: Random) -> float:
    """Return a draw moved a little: a share is turned back at 0 and 1, a whole number is drawn anew."""
    if bits:
        return rng.getrandbits(bits)
    if rng.random() < _ANEW_SHARE:
        return rng.random()
    moved = abs(value + rng.gauss(0.0, _STEP)) % 2.0
    return min(moved, 2.0 - moved, _LAST_SHARE)
