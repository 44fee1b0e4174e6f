"""A plan and what would be if it were begun at another time, or were one change away from what it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from daemon.errors import BadInput
from daemon.firing.plan.plan import MAX_HOLD_MIN, Plan, rate_to_unit
from daemon.firing.plan.schedule import PlannedPart, planned_parts
from daemon.firing.setup import THICKEST_MM, THINNEST_MM, Setup
from daemon.glass.advice import anneal
from daemon.kiln.foresight import Foresight, foresee
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.planning.energy_ahead import PastEnergy
from daemon.kiln.planning.followable import Followable, OutOfReach, out_of_reach
from daemon.kiln.planning.latest_start import DoneBy, LatestStart, latest_start
from daemon.kiln.planning.outlook import Outlook, as_planned, outlook
from daemon.kiln.planning.variants import annealed, hotter, longer
from daemon.kiln.told import Clock

MOST = 6
"""So many forecasts stand beside each other at most. [chosen: as many lines as can be told apart by their dashes]"""
_MOST_K = 200.0
"""A top is not asked to be hotter or cooler by more [K]. [chosen: beyond it it is another plan]"""
MOST_LONGER_MIN = MAX_HOLD_MIN
"""A hold at the top is asked to be longer or shorter by so much at most [min].
[from: daemon.firing.plan.plan.MAX_HOLD_MIN]"""
ANNEAL_MM = (THINNEST_MM, THICKEST_MM)
"""An anneal is asked for a thickness between these [mm]. [derived: what a load may measure]"""


def most_hotter(unit: str) -> float:
    """Return by how much a top may be asked to be hotter or cooler, in degrees of ``unit`` ("C" or "F")."""
    return rate_to_unit(_MOST_K, unit)


def in_kelvin(degrees: float, unit: str) -> float:
    """Return a difference [K] that was asked in degrees of ``unit`` ("C" or "F")."""
    return degrees / rate_to_unit(1.0, unit)


class Changes(NamedTuple):
    """What is asked; none of it leaves the plan as it is written."""

    starts: Sequence[datetime] = ()
    """When it is begun; the first is that of the plan as it is written and of all its changes."""
    hotter_k: Sequence[float] = ()
    """By how much the top is hotter [K]."""
    longer_s: Sequence[float] = ()
    """By how much the hold at the top is longer [s]."""
    anneal_mm: Sequence[float] = ()
    """The thicknesses whose advised anneal is taken [mm]."""
    done_by: DoneBy | None = None
    """By when something must be done; the plan then begins at its latest start, where no start is asked."""
    twelve: bool = False
    """Whether the reader's clock counts to twelve."""


class Refused(NamedTuple):
    """A change that does not fit the plan."""

    what: str
    """``hotter``, ``longer`` or ``anneal``."""
    why: BadInput


class Column(NamedTuple):
    """One forecast beside others."""

    name: str
    plan: Plan
    planned: Sequence[PlannedPart]
    found: Foresight
    outlook: Outlook
    clock: Clock
    beyond: OutOfReach | None = None
    """The target that the kiln may not reach; all after it is so only if it does."""
    latest: LatestStart | None = None
    """The latest start, where that is asked and can be said."""
    is_rough: bool = False
    """Whether few firings of the kiln are known, so that nobody can say in how many nights it is so."""
    anneal_mm: float | None = None
    """The thickness whose advised anneal the plan takes [mm], where that is the change."""


class Kiln(NamedTuple):
    """The kiln as it is tonight."""

    model: KilnModel
    from_c: float
    """Its temperature at the start [°C]."""
    room_c: float
    energy: PastEnergy | None = None
    is_firing: bool = False
    """Whether a firing runs in it now."""


def columns(plan: Plan, setup: Setup, kiln: Kiln, asked: Changes) -> list[Column]:
    """Return the forecast of a plan as it is written, then one for each thing asked.

    Raises
    ------
    BadInput
        Where more is asked than can stand beside each other, or a change does not fit the plan.
    """
    many = max(1, len(asked.starts)) + len(asked.hotter_k) + len(asked.longer_s) + len(asked.anneal_mm)
    if many > MOST:
        raise BadInput("what if", f"{many} forecasts are too many to stand beside each other.",
                       f"Ask for at most {MOST - 1} besides the plan as it is written.")
    first = Clock(asked.starts[0] if asked.starts else None, twelve=asked.twelve)
    written = _with_latest(column("as written" if len(asked.starts) < 2 else f"start {first(0.0)}", plan, setup, kiln,
                                  first), asked.done_by, kiln)
    if not asked.starts and written.latest is not None:
        first = Clock(written.latest.start, twelve=asked.twelve)
    found = [written._replace(clock=first)]
    # Another start changes nothing but the clock.
    others = [Clock(start, twelve=asked.twelve) for start in asked.starts[1:]]
    found += [found[0]._replace(name=f"start {clock(0.0)}", clock=clock) for clock in others]
    changed = [_with_latest(column(name, new, setup, kiln, first), asked.done_by, kiln)
               for name, new in _changed(plan, setup, asked)]
    annealed_from = len(changed) - len(asked.anneal_mm)
    return found + changed[:annealed_from] + [
        one._replace(anneal_mm=mm) for one, mm in zip(changed[annealed_from:], asked.anneal_mm, strict=True)]


def fitting(plan: Plan, setup: Setup, asked: Changes) -> tuple[Changes, list[Refused]]:
    """Return what is asked without the changes that do not fit the plan, and why each of these does not."""
    refused: list[Refused] = []

    def fit(what: str, values: Sequence[float], alone: Callable[[float], Changes]) -> list[float]:
        kept = []
        for value in values:
            try:
                list(_changed(plan, setup, alone(value)))
            except BadInput as err:
                refused.append(Refused(what, err))
            else:
                kept.append(value)
        return kept

    return asked._replace(
        hotter_k=fit("hotter", asked.hotter_k, lambda by_k: Changes(hotter_k=[by_k])),
        longer_s=fit("longer", asked.longer_s, lambda by_s: Changes(longer_s=[by_s])),
        anneal_mm=fit("anneal", asked.anneal_mm, lambda mm: Changes(anneal_mm=[mm]))), refused


def _with_latest(one: Column, done_by: DoneBy | None, kiln: Kiln) -> Column:
    if done_by is None:
        return one
    found = latest_start(done_by, one.outlook, is_out_of_reach=one.beyond is not None, is_rough=one.is_rough)
    return one._replace(latest=found and found._replace(is_firing=kiln.is_firing))


def latest_of_new(found: Followable | OutOfReach | None, setup: Setup, kiln: Kiln,
                  done_by: DoneBy | None) -> LatestStart | None:
    """Return the latest start of a plan that the kiln can follow; None without one, or where none is asked."""
    if not isinstance(found, Followable):
        return None
    return _with_latest(column("new", found.plan, setup, kiln, Clock()), done_by, kiln).latest


def _changed(plan: Plan, setup: Setup, asked: Changes) -> Iterator[tuple[str, Plan]]:
    """Yield the changed plans, each named by the figure that was asked, in the unit of ``setup``."""
    for by_k in asked.hotter_k:
        degrees = f"{_figure(rate_to_unit(by_k, setup.unit))} °{setup.unit}"
        yield f"{degrees} {'hotter' if by_k >= 0 else 'cooler'}", hotter(plan, by_k, setup.glass, setup.unit)
    for by_s in asked.longer_s:
        yield f"{_figure(by_s / 60)} min {'longer' if by_s >= 0 else 'shorter'}", longer(plan, by_s, setup.glass)
    if asked.anneal_mm and setup.is_empty:
        raise BadInput(plan.title, "the anneal for a thickness is asked, but there is no glass in the kiln.",
                       "Say which glass is in it, or leave this change out.")
    for thickness_mm in asked.anneal_mm:
        yield f"anneal {thickness_mm:g} mm", annealed(plan, anneal(setup.glass, thickness_mm, setup.faces))


def _figure(value: float) -> str:
    """Return the size of a figure as it was asked, to the hundredth."""
    return f"{round(abs(value), 2):.7g}"


def column(name: str, plan: Plan, setup: Setup, kiln: Kiln, clock: Clock) -> Column:
    """Return the forecast of one plan for this kiln."""
    planned = planned_parts(plan, kiln.from_c)
    found = foresee(planned, kiln.model, kiln.from_c, room_c=kiln.room_c)
    return Column(name, plan, planned, found, outlook(replace(setup, plan=plan), planned, found, kiln.energy), clock,
                  out_of_reach(plan, kiln.model, kiln.from_c, kiln.room_c), is_rough=kiln.model.is_rough)


def by_plan(plan: Plan, setup: Setup, kiln: Kiln, clock: Clock) -> Column:
    """Return the plan by its own times; no energy is reckoned, since its free ramps are of no kiln."""
    planned = planned_parts(plan, kiln.from_c)
    found = as_planned(planned, kiln.model.starts_s)
    return Column("by the plan", plan, planned, found, outlook(replace(setup, plan=plan), planned, found), clock)
