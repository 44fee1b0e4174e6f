"""The energy of the kiln's firings: one dot each, and the months added up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from daemon.firing.energy.estimate import Basis
from daemon.store.firings import Firing
from daemon.store.wear.part_changes import PartChange
from web import words
from web.drawing.dot_chart_svg import Axis, Dot
from web.firings.energy import Spent, months, spent_of_kiln, spent_words
from web.kiln.charts import Chart, chart, marks
from web.request.context import settings
from web.times import month_words

_LEAST_SPAN_KWH = 4.0
"""What the axis of energy spans at least [kWh]. [chosen: a tabletop kiln's firing]"""


@dataclass(frozen=True, slots=True)
class EnergyView:
    """What the page shows of energy."""

    chart: Chart
    months: Sequence[tuple[str, str, str]]
    """Month, firings, and energy with cost, in words; the latest first."""
    is_rough: bool
    """Whether full power was never seen and no meter read."""


def energy_view(kiln: int, ended: Sequence[Firing], changes: Sequence[PartChange]) -> EnergyView | None:
    """Return the energy of the firings that could be estimated, in order of time; None where there are none."""
    spent, zone = spent_of_kiln(kiln), settings().zone
    mine = [(firing, spent[firing.firing_id]) for firing in ended if firing.firing_id in spent]
    if not mine:
        return None
    dots = [(firing.firing_id, _dot(firing, one)) for firing, one in mine]
    added = [(month_words(month), _count(count), spent_words(one)) for month, count, one in months(
        [(firing.started_utc.astimezone(zone), one) for firing, one in mine])]
    rough = all(one.basis is Basis.USUAL for _, one in mine)
    return EnergyView(chart("energy", "Energy of its firings", _sentence(mine[-1][1], rough=rough), dots,
                            marks(changes, "elements"), Axis("kWh", _LEAST_SPAN_KWH, from_zero=True)), added, rough)


def _dot(firing: Firing, one: Spent) -> Dot:
    spread = (None, None) if one.is_metered else (one.low_kwh, one.high_kwh)
    return Dot(firing.started_utc.astimezone(settings().zone), one.likely_kwh, spent_words(one), *spread)


def _sentence(latest: Spent, *, rough: bool) -> str:
    power = words.bound(f"{settings().config.energy.power_kw:g} kW")
    said = f"The latest firing took {spent_words(latest)}."
    if latest.is_metered:
        return said
    if rough:
        return (f"{said} A rough estimate from the temperatures and the rated {power}: Lehrling measures no power, "
                "and never saw this kiln use all of it. Give a meter’s reading on the page of one firing, and every "
                "estimate becomes narrow.")
    return (f"{said} An estimate from the temperatures and the rated {power}; Lehrling measures no power. "
            "The line through a dot is its spread: four of five firings lie within it.")


def _count(count: int) -> str:
    return f"{count} firing{'' if count == 1 else 's'}"
