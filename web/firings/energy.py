"""The energy of a kiln's firings, in kWh and money: what a meter showed, an estimate, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from daemon.firing.energy import energy_words
from daemon.firing.energy.energy_words import kwh_words
from daemon.firing.energy.estimate import Basis, Estimate, estimate
from daemon.firing.energy.heat_balance import Why
from daemon.firing.plan.plan import to_unit
from daemon.store.firings import Firing
from daemon.store.wear import heat
from daemon.store.wear.past_energy import LOOKED_AT, use_of
from web import words
from web.request.context import database, settings


@dataclass(frozen=True, slots=True)
class Spent:
    """The energy of one firing [kWh]; ``low`` and ``high`` are the same where a meter showed it."""

    low_kwh: float
    likely_kwh: float
    high_kwh: float
    basis: Basis
    is_metered: bool = False


def spent_of_kiln(kiln_id: int) -> Mapping[int, Spent]:
    """Return the energy of the latest firings of a kiln by their number; none where no power was given."""
    db, power_kw = database(), settings().config.energy.power_kw
    if power_kw is None:
        return {}
    kept, meters = heat.of_kiln(db, kiln_id, LOOKED_AT), heat.meters(db, kiln_id)
    uses = {number: use for number, one in kept.items() if (use := use_of(one)) is not None}
    metered = [(use, meters[number]) for number, use in uses.items() if number in meters]
    of_kiln = list(uses.values())
    found = {number: _spent(estimate(use, of_kiln, power_kw, metered)) for number, use in uses.items()}
    return found | {number: Spent(kwh, kwh, kwh, Basis.METER, is_metered=True) for number, kwh in meters.items()}


def _spent(told: Estimate) -> Spent:
    return Spent(told.low_kwh, told.likely_kwh, told.high_kwh, told.basis)


def energy_line(firing: Firing) -> str:
    """Return the sentences about the energy of a firing that has ended; empty where no power was given."""
    if settings().config.energy.power_kw is None or firing.ended_s is None:
        return ""
    found = spent_of_kiln(firing.kiln_id).get(firing.firing_id)
    if found is not None:
        return f"Energy: {spent_words(found)}. {basis_words(found)}"
    kept = heat.of_firing(database(), firing.firing_id)
    if kept is None:
        return "Energy: not estimated yet. That is done within some minutes of the end."
    return "" if kept.why is None else f"Energy: not estimated. {words.bound(_why(kept.why))}"


def spent_words(found: Spent) -> str:
    """Return energy and cost: ``about 12 kWh (10 to 14), 3.60 € (3.00 to 4.20)``."""
    if found.is_metered:
        cost = cost_words(found.likely_kwh, is_exact=True)
        return words.bound(f"{kwh_words(found.likely_kwh)} kWh by the meter{f', {cost}' if cost else ''}")
    low, high = cost_words(found.low_kwh, bare=True), cost_words(found.high_kwh)
    span = f"{kwh_words(found.low_kwh)} to {kwh_words(found.high_kwh)}"
    cost = f", {low} to {high}" if high else ""
    if found.basis is Basis.USUAL:
        return words.bound(f"perhaps {span} kWh{cost}")
    return words.bound(f"about {kwh_words(found.likely_kwh)} kWh ({span}){cost}")


def basis_words(found: Spent) -> str:
    """Return what the figure rests on, for somebody who wonders."""
    if found.is_metered:
        return ""
    if found.basis is Basis.METER:
        return "An estimate, from the temperatures and what the meter showed for other firings."
    if found.basis is Basis.FULL_POWER:
        return "An estimate, from the temperatures and the rated power."
    return ("A rough estimate: Lehrling sees temperatures, no power, and never saw this kiln with all its power. "
            "One reading of a meter makes it narrow.")


def cost_words(kwh: float, *, bare: bool = False, is_exact: bool = False) -> str:
    """Return what so much energy costs by the owner's price, as ``energy_words.cost_words`` says it."""
    told = settings().config.energy
    return energy_words.cost_words(kwh, told.price_per_kwh, told.currency, bare=bare, is_exact=is_exact)


def _why(why: str) -> str:
    """Return why nothing could be estimated, as a sentence."""
    unit = settings().unit
    return {
        Why.NO_PLAN: "Without a plan it is not known when the kiln had power and when not.",
        Why.NOT_FIRED: f"The kiln did not pass {to_unit(200.0, unit):.0f} °{unit}.",
        Why.HOT_START: "The record begins with the kiln hot already.",
        Why.GAP: "Too many readings are missing while the kiln was hot.",
        Why.HEATED: "The kiln was heated where its plan lets it fall, so nothing is learned of how it loses heat.",
        Why.NO_FALL: "The kiln was not seen to cool without power, which shows how much heat it loses.",
    }[Why(why)]


def months(spent: Sequence[tuple[datetime, Spent]]) -> list[tuple[datetime, int, Spent]]:
    """Return (first of its days with a firing, firings, energy) of each month, the latest first.

    What is wrong with one estimate is mostly wrong with all of a kiln, so lows and highs add up.
    """
    found: dict[tuple[int, int], tuple[datetime, list[Spent]]] = {}
    for when, one in spent:
        found.setdefault((when.year, when.month), (when, []))[1].append(one)
    return [(when, len(all_of), Spent(
        sum(one.low_kwh for one in all_of), sum(one.likely_kwh for one in all_of),
        sum(one.high_kwh for one in all_of), _widest(all_of), all(one.is_metered for one in all_of)))
        for _, (when, all_of) in sorted(found.items(), reverse=True)]


def _widest(all_of: Sequence[Spent]) -> Basis:
    """Return the least sure basis among several."""
    order = list(Basis)
    return max((one.basis for one in all_of), key=order.index)
