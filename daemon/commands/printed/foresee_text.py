"""A forecast as text and as JSON, for ``lehrling foresee``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from daemon.firing.advice.plan_check import doubt_lines, doubts
from daemon.firing.advice.plan_glass import figures_along, plan_glass_lines
from daemon.firing.setup import Setup
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from daemon.kiln.planning.beside import (
    Tariff,
    beyond_json,
    energy_line,
    glass_rows,
    missing,
    not_changed,
    outlook_json,
    rows_beside,
    shown,
    table_lines,
    times_of,
)
from daemon.kiln.planning.followable import Followable, OutOfReach
from daemon.kiln.planning.followable_words import followable_json, followable_lines
from daemon.kiln.planning.judged_changes import change_lines
from daemon.kiln.planning.latest_start import DoneBy, LatestStart, latest_json, latest_lines, new_plan_lines
from daemon.kiln.planning.what_if import Column, Kiln, by_plan, latest_of_new
from daemon.kiln.told import as_json, foresight_lines


class Foretold(NamedTuple):
    """What was asked, and what was found."""

    beside: Sequence[Column]
    """The plan as it is written, then each change."""
    setup: Setup
    kiln: Kiln
    can_follow: Followable | OutOfReach | None
    done_by: DoneBy | None
    tariff: Tariff


def lines(told: Foretold) -> Iterator[str]:
    """Yield the latest start, the forecast, what the glass goes through, and what would be with each change."""
    written, words, setup = told.beside[0], Units(told.setup.unit), told.setup
    yield written.plan.title
    if told.done_by is not None:
        yield from ("", *latest_lines(told.done_by, written.latest, written.outlook, setup.glass_or_none, words))
        yield from (*filter(None, [times_of(written)]), "")
    yield from foresight_lines(written.planned, told.kiln.model, written.found, setup.glass_or_none, words,
                               written.clock, written.beyond and written.beyond.step)
    proposed = [*followable_lines(told.can_follow, setup),
                *new_plan_lines(told.done_by, written.latest, _latest_of_new(told))]
    if proposed:
        yield from ("", *proposed)
    yield ""
    yield from _glass_lines(told)
    yield ""
    yield from doubt_lines(setup)
    yield from _what_if_lines(told)
    yield ""
    yield ("Times, glass and energy are estimates. The data sheet of your glass and the manual of your kiln come "
           "first. " + NO_SAFETY_DEVICE)


def _latest_of_new(told: Foretold) -> LatestStart | None:
    return latest_of_new(told.can_follow, told.setup, told.kiln, told.done_by)


def _glass_lines(told: Foretold) -> Iterator[str]:
    """Yield what the glass goes through; of an empty kiln its heat and its energy."""
    written, words, setup = told.beside[0], Units(told.setup.unit), told.setup
    two = [by_plan(written.plan, setup, told.kiln, written.clock), written._replace(name="in this kiln")]
    yield "What the kiln goes through" if setup.is_empty else "What the glass goes through"
    yield from table_lines(two, glass_rows(two, setup.glass_or_none, words, told.tariff))
    yield from filter(None, [energy_line(written.outlook.energy, told.tariff)])
    if not setup.is_empty:
        yield ""
        yield from plan_glass_lines(setup, figures_along(setup, written.found.curve))


def _what_if_lines(told: Foretold) -> Iterator[str]:
    if len(told.beside) < 2:
        return
    rows = rows_beside(told.beside, told.setup.glass_or_none, Units(told.setup.unit), told.tariff)
    yield ""
    yield "What if"
    yield from table_lines(told.beside, shown(rows))
    yield from filter(None, [not_changed(rows)])
    yield from change_lines(told.beside, told.setup, told.kiln.model, Units(told.setup.unit))
    yield from missing(told.beside)


def plain(told: Foretold) -> dict[str, Any]:
    """Return the same as plain values."""
    setup, kiln, (written, *others) = told.setup, told.kiln, told.beside
    return {
        **as_json(written.planned, kiln.model, written.found, setup.glass_or_none),
        "starts": written.clock.starts_iso,
        "latest_start": told.done_by and latest_json(told.done_by, written.latest),
        "glass": not setup.is_empty,
        "in_this_kiln": outlook_json(written.outlook), "out_of_reach": beyond_json(written),
        "by_the_plan": outlook_json(by_plan(written.plan, setup, kiln, written.clock).outlook),
        "what_if": [{"name": one.name, "starts": one.clock.starts_iso, "out_of_reach": beyond_json(one),
                     "latest_start": told.done_by and latest_json(told.done_by, one.latest),
                     **outlook_json(one.outlook)}
                    for one in others],
        "doubts": list(doubts(setup)),
        "followable": _followable_json(told),
    }


def _followable_json(told: Foretold) -> dict[str, Any] | None:
    found = followable_json(told.can_follow, told.setup)
    if found is None or told.done_by is None:
        return found
    return {**found, "latest_start": latest_json(told.done_by, _latest_of_new(told))}
