"""A hunt for the firings in which the watcher does worst: draw at random, then go on from the worst by small changes.

A small change moves one or two of the draws that a firing is made of, and makes the firing anew from all of them. So
nothing leaves the ranges in which the bench draws, a kiln's controller still fits the kiln, and no range is written
down twice. A change is small where it touches one thing: a habit, the noise, the kiln with its controller.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from simulations.cases import Case
from simulations.generator import CLEAN, HARSH, clean_case, harsh_case
from simulations.studies.badness import AIMS, Badness
from simulations.studies.faulty.case import faulty_case
from simulations.studies.faulty.table import ROWS
from simulations.studies.kept import FILE, PREFIX, Kept, changed, differences, fingerprint, read_kept, write_kept
from simulations.studies.study import SEEDS_APART, kept_case

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
QUIET_ROWS = (CLEAN, CLEAN, HARSH)
"""Rows of quiet firings, each as often as it is drawn."""


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


@dataclass(frozen=True, slots=True)
class Finding:
    """A firing that was judged: the drawn one it began from, its draws, and how badly it went."""

    start: str
    given: Mapping[Place, float]
    case: Case
    bad: Badness

    def kept(self, name: str, aim: str) -> Kept:
        """Return it as it stays in a file; what the file gives is the very same firing."""
        base = Tape({}).case(self.start)
        changes = differences(base, self.case)
        if changed(base, changes) != self.case:
            raise AssertionError(f"{self.start}: its changes do not make it again")
        return Kept(name, aim, self.start, fingerprint(base), self.bad.told, changes)


@dataclass(frozen=True, slots=True)
class Hunt:
    """How long and from where: the same figures find the same, unless time runs out.

    Attributes
    ----------
    draws, steps
        Firings drawn at random; small changes tried after that.
    seed
        Of the draws and of the changes.
    keep
        From so many of the worst mechanisms the search goes on.
    """

    draws: int
    steps: int
    seed: int
    keep: int = 5


@dataclass(frozen=True, slots=True)
class Hunted:
    """What came of a hunt: the worst of each mechanism, the worst first, and how many firings were tried."""

    worst: tuple[Finding, ...]
    drawn: int
    """Drawn at random."""
    stepped: int
    """Changed a little."""
    counted: int
    """Of both, those that count."""


def rows_for(aim: str) -> tuple[str, ...]:
    """Return the rows to draw from: quiet ones, or the faults of which one should wake."""
    if aim == "wakes":
        return QUIET_ROWS
    return tuple(row for row in ROWS if any(e.rank == "wake" for e in faulty_case(row, 1).expected))


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


def hunt(judge: Callable[[Case], Badness | None], rows: Sequence[str], how: Hunt,
         is_over: Callable[[], bool] = lambda: False) -> Hunted:
    """Return the worst firings by ``judge``, which gives None to one that does not count.

    ``is_over`` ends it early: it is asked before every firing.
    """
    rng = Random(f"hunt {how.seed}")
    worst: dict[str, Finding] = {}
    drawn = stepped = counted = 0
    while drawn < how.draws and not is_over():
        name = f"{rows[drawn % len(rows)]}-{how.seed * SEEDS_APART + drawn // len(rows)}"
        drawn += 1
        counted += _take(judge, worst, name, {}, Tape({}).case(name))
    while worst and stepped < how.steps and not is_over():
        ranked = _ranked(worst)[:how.keep]
        best = ranked[stepped % len(ranked)]
        stepped += 1
        near = nearby(best.start, best.given, rng)
        if near is not None:
            counted += _take(judge, worst, best.start, *near)
    return Hunted(tuple(_ranked(worst)), drawn, stepped, counted)


def _take(judge: Callable[[Case], Badness | None], worst: dict[str, Finding], name: str,
          given: Mapping[Place, float], case: Case) -> bool:
    """Judge a firing and keep it where it is the worst of its mechanism; return whether it counts."""
    bad = judge(case)
    if bad is None:
        return False
    known = worst.get(bad.mechanism)
    if known is None or bad.weight > known.bad.weight:
        worst[bad.mechanism] = Finding(name, given, case, bad)
    return True


def _ranked(worst: Mapping[str, Finding]) -> list[Finding]:
    """Return the worst of each mechanism, the worst first; of two alike the one found first."""
    return sorted(worst.values(), key=lambda found: found.bad.weight, reverse=True)


def hunt_for(aim: str, how: Hunt, is_over: Callable[[], bool]) -> Hunted:
    """Return what is found for one of AIMS on the bench."""
    return hunt(AIMS[aim], rows_for(aim), how, is_over)


def keep(found: Hunted, aim: str, seed: int, most: int, path: Path = FILE) -> tuple[str, ...]:
    """Write the worst mistakes, at most ``most``, into the file and return their names.

    What an earlier hunt of the same aim and seed left is replaced.
    """
    new = [each.kept(f"{PREFIX}{aim}-{seed}-{n}", aim) for n, each in enumerate(mistakes(found)[:most], start=1)]
    old = [kept for kept in read_kept(path) if not kept.name.startswith(f"{PREFIX}{aim}-{seed}-")]
    write_kept((*old, *new), path)
    return tuple(kept.name for kept in new)


def mistakes(found: Hunted) -> list[Finding]:
    """Return the findings in which the watcher was wrong, the worst first."""
    return [each for each in found.worst if each.bad.is_bad]


def report(found: Hunted, aim: str, draws: int, steps: int, seed: int, names: Sequence[str]) -> list[str]:
    """Return what a hunt found, line by line; ``names`` are those that were kept, the worst first."""
    lines = [f"{found.drawn} firings drawn, {found.stepped} small changes tried; {found.counted} of them count."]
    if (found.drawn, found.stepped) != (draws, steps):
        lines.append(f"Time was up before all {draws} draws and {steps} steps.")
    for number, each in enumerate(mistakes(found), start=1):
        changes = differences(Tape({}).case(each.start), each.case)
        lines += ["", f"{number}. {each.bad.mechanism} ({each.start})", f"   {each.bad.told}"]
        lines += [f"   changed: {path} = {value}" for path, value in changes.items()]
        if number <= len(names):
            lines.append(f"   Run it again: python -m simulations case {names[number - 1]}")
        elif not changes:
            lines.append(f"   Run it again: python -m simulations case {each.start}")
    if not mistakes(found):
        lines.append("No mistake was found.")
    return [*lines, "", f"The same hunt: python -m simulations hunt --for {aim} --seed {seed} "
                        f"--draws {found.drawn} --steps {found.stepped}"]


def again(path: Path = FILE) -> list[str]:
    """Judge every kept firing and return a line for each: whether it is still a mistake."""
    lines = []
    for kept in read_kept(path):
        case = kept_case(kept, str(path))
        bad = AIMS[kept.aim](case)
        now = "no longer counts: it isn't run as meant, or its fault does no harm." if bad is None else bad.told
        verdict = "STILL" if bad is not None and bad.is_bad else "MENDED"
        other = "" if fingerprint(Tape({}).case(kept.start)) == kept.drawn else (
            f" (The bench draws {kept.start} otherwise than when this was kept.)")
        lines.append(f"{kept.name:<26} {verdict:<7} {now}{other}")
    return lines or ["No firing is kept."]
