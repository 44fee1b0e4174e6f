"""What is doubtful in a changed plan, and where the kiln can't follow it, in sentences beside its forecast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from daemon.firing.advice.plan_check import climb_doubts, doubts, practice_doubts
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.planning.what_if import Column
from daemon.kiln.told import slow_lines


def change_lines(columns: Sequence[Column], setup: Setup, model: KilnModel, words: Units) -> Iterator[str]:
    """Yield what each changed plan brings that the plan as it is written does not, each under the change's name.

    Parameters
    ----------
    columns
        The plan as it is written, then each change.
    setup
        The load, with the plan as it is written.
    model
        The kiln.
    words
        In whose unit temperatures are said.
    """
    less_mm = [one.anneal_mm for one in columns if one.anneal_mm is not None and one.anneal_mm < setup.thickness_mm]
    known = {*_of_kiln(columns[0], model, words), *_doubts(columns[0], setup, has_slab=bool(less_mm))}
    for one in columns[1:]:
        for said in _of_kiln(one, model, words):
            if said not in known:
                yield f"{one.name}. {said}"
        for doubt in _doubts(one, setup, has_slab=one.anneal_mm in less_mm):
            if doubt not in known:
                yield f"{one.name}, doubtful: {doubt}"
        if one.anneal_mm is not None and one.anneal_mm > setup.thickness_mm:
            thick = replace(setup, plan=one.plan, thickness_mm=one.anneal_mm, thinner_mm=())
            for doubt in climb_doubts(thick):
                yield f"{one.name}, doubtful if the glass is {one.anneal_mm:g} mm thick: {doubt}"


def _doubts(one: Column, setup: Setup, *, has_slab: bool) -> Iterator[str]:
    """Yield what is doubtful in a plan for the load; by the slab as well where that is asked.

    The slab is followed for seconds in a long plan, and no change makes it worse but an anneal for thinner glass.
    """
    its = replace(setup, plan=one.plan)
    if has_slab:
        yield from doubts(its)
    elif not setup.is_empty:
        yield from practice_doubts(its)


def _of_kiln(one: Column, model: KilnModel, words: Units) -> Iterator[str]:
    """Yield where the kiln can't follow; where it may not reach a target, that alone."""
    if one.beyond is not None:
        yield f"This kiln reaches {words.temp(one.beyond.to_c)} of step {one.beyond.step} only just, or not at all."
    else:
        yield from slow_lines(one.planned, model, one.found, words)
