"""Thousands of firings in a night: fired, judged and held against the truth on every core."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tqdm import tqdm

from daemon.errors import BadInput
from simulations.cases import Case, ToJudge
from simulations.generator import CLEAN, FIRST, GROWN, HARSH, clean_case, harsh_case
from simulations.glow_bench import GLOW
from simulations.second_plant.cases import PREFIX, second_case_named
from simulations.second_plant.rows import ROWS as SECOND_ROWS
from simulations.studies.faulty.case import faulty_case
from simulations.studies.faulty.table import ROWS
from simulations.studies.kept import FILE, Kept, changed, kept_named
from simulations.studies.kept import PREFIX as KEPT
from simulations.studies.scenarios import SCENARIOS
from simulations.studies.scoring import Score, score

T = TypeVar("T")
FIRST_BENCH = "first-"
"""Begins the name of a firing of the first, narrow bench (see simulations.first_bench)."""
GLOW_BENCH = "glow-"
"""Begins the name of a firing whose probe sees much of the elements (see simulations.glow_bench)."""
_BENCHES = {FIRST_BENCH: FIRST, GLOW_BENCH: GLOW}
"""By what the name of a firing begins with; all others are of the grown bench."""
SEEDS_APART = 1_000_000
"""Firings of two studies whose seeds differ share no seed while neither has more firings of a row than this.
[chosen: more than any night has]"""


@dataclass(frozen=True, slots=True)
class Study:
    """How many firings of each sort.

    Attributes
    ----------
    clean, harsh, faulty
        Numbers of firings; the faulty ones take turns through ``rows``.
    seed
        The same seed gives the same firings.
    rows
        Which rows.
    plant
        "first" or "second": which of the bench's plants fires them; "glow" is the first with probes that see much
        of the elements.
    """

    clean: int
    harsh: int
    faulty: int
    seed: int
    rows: tuple[str, ...] = tuple(ROWS)
    plant: str = "first"

    def names(self) -> list[str]:
        """Return the name of every firing."""
        first = self.seed * SEEDS_APART
        prefix = {"second": PREFIX, "glow": GLOW_BENCH}.get(self.plant, "")
        return [prefix + name for name in (
            *(f"{CLEAN}-{first + n}" for n in range(self.clean)),
            *(f"{HARSH}-{first + n}" for n in range(self.harsh)),
            *(f"{self.rows[n % len(self.rows)]}-{first + n // len(self.rows)}" for n in range(self.faulty)),
        )]


def rows_of(plant: str) -> tuple[str, ...]:
    """Return the rows of faulty firings of the "second" plant, or of the first, "glow" or not."""
    return tuple(SECOND_ROWS if plant == "second" else ROWS)


def case_named(name: str) -> ToJudge:
    """Return the firing of that name: a scenario, a row and its seed, as ``clean-17``, or one that a hunt kept.

    Raises
    ------
    BadInput
        Listing what there is.
    """
    if name in SCENARIOS:
        return SCENARIOS[name].case
    if name.startswith(KEPT):
        return kept_case(kept_named(name))
    second = second_case_named(name)
    if second is not None:
        return second
    start, bench = next(((start, bench) for start, bench in _BENCHES.items() if name.startswith(start)), ("", GROWN))
    row, _, seed = name.removeprefix(start).rpartition("-")
    if seed.isdecimal():
        if row == CLEAN:
            return clean_case(int(seed), bench).named(name)
        if row == HARSH:
            return harsh_case(int(seed), bench).named(name)
        if row in ROWS:
            return faulty_case(row, int(seed), bench).named(name)
    others = f"those of the first bench with {FIRST_BENCH} before, of kilns that glow with {GLOW_BENCH}"
    known = f"Known: {', '.join((CLEAN, HARSH, *ROWS))}, each with -SEED, {others}; and {', '.join(SCENARIOS)}."
    raise BadInput(repr(name), "is no firing of the bench.",
                   f"Write a row and a seed, such as clean-1000017. {known}")


def kept_case(kept: Kept, where: str = str(FILE)) -> Case:
    """Return the firing that a hunt kept; BadInput where it can't be built again."""
    start = case_named(kept.start)
    if not isinstance(start, Case):
        raise BadInput(f"{where}, {kept.name}", f"{kept.start!r} is no drawn firing of the first bench.",
                       "Write a row and a seed, such as clean-17.")
    return changed(start, kept.changes, f"{where}, {kept.name}").named(kept.name)


def _score(name: str) -> Score:
    """Fire and judge the firing of that name, in a process of the pool."""
    return score(case_named(name))


def run(names: Sequence[str], jobs: int | None = None) -> list[Score]:
    """Return the score of every firing named, in that order, worked out on ``jobs`` processes (all cores)."""
    return each(_score, names, jobs)


def each(work: Callable[[str], T], names: Sequence[str], jobs: int | None = None) -> list[T]:
    """Return what ``work`` makes of every name, in their order; a terminal sees a progress bar."""
    jobs = min(jobs or os.cpu_count() or 1, len(names))
    if jobs <= 1:
        return [work(name) for name in tqdm(names, disable=None, unit="firing")]
    with multiprocessing.get_context("spawn").Pool(jobs) as pool:
        return list(tqdm(pool.imap(work, names, chunksize=2), total=len(names), disable=None, unit="firing"))
