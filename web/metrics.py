"""Figures for a monitoring program at ``/metrics``: what each kiln's daemon last said, in OpenMetrics' text format.

Off unless the owner turns it on. Whoever asks needs no passcode, since a monitoring program has none to give; it must
call the page by a name of its own, like everybody. Only state files are read, never the record. The format and its
client: OpenMetrics 1.0 and the package prometheus_client, loaded by the first request that needs it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib.metadata import version
from typing import TYPE_CHECKING, NamedTuple

from flask import Blueprint, Response

from daemon.firing.events import Rank
from daemon.service.state_reader import DaemonState, alert_of, read_daemon_state
from web.request.context import settings
from web.settings import Settings

if TYPE_CHECKING:
    from prometheus_client.core import Metric

BLUEPRINT = Blueprint("metrics", __name__)

_OFF = "No figures are given here. The owner turns them on with page.metrics = true (docs/programs.md).\n"


class _Figure(NamedTuple):
    """A number of the state file and what it is called outside.

    Attributes
    ----------
    key
        Its name in the state file.
    name, unit, means
        Its name without the unit, its unit as the end of the name, and its meaning in a sentence.
    """

    key: str
    name: str
    unit: str
    means: str


_FIGURES = (
    _Figure("temp_c", "lehrling_kiln_temperature", "celsius", "Temperature that the thermocouple in the kiln reads."),
    _Figure("planned_c", "lehrling_kiln_planned_temperature", "celsius", "Temperature that the plan has now."),
    _Figure("rate_c_per_h", "lehrling_kiln_rate", "celsius_per_hour", "Rate of the temperature; below 0 it falls."),
    _Figure("cold_junction_c", "lehrling_cold_junction_temperature", "celsius",
            "Temperature of the converter, where the thermocouple ends."),
    _Figure("t_s", "lehrling_firing_elapsed", "seconds", "Time since the open firing began."),
)


@BLUEPRINT.get("/metrics")
def show() -> Response:
    """Give the figures; 404 where the owner did not turn them on."""
    if not settings().metrics:
        return Response(_OFF, 404, mimetype="text/plain")
    from prometheus_client.core import CollectorRegistry
    from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST, generate_latest

    registry = CollectorRegistry()  # its own: the client's common one also tells of this process
    registry.register(_Collector(_kilns_of(settings())))
    text = generate_latest(registry)  # type: ignore[no-untyped-call]
    return Response(text, content_type=CONTENT_TYPE_LATEST)


def _kilns_of(kept: Settings) -> dict[str, DaemonState | None]:
    """Return what the daemons last said, by the kiln: this page's kiln and the others of its settings.

    A second kiln of the same name has its number behind its name. None stands for a state that can't be read.
    """
    now_utc = kept.clock.utc()
    found = {_can_be_sent(kept.kiln): read_daemon_state(kept.run_dir, now_utc)}
    for number, folder in enumerate(kept.others, start=2):
        said = read_daemon_state(folder, now_utc)
        name = _can_be_sent((said.text("kiln") if said is not None else "") or folder.name)
        while name in found:
            name = f"{name} ({number})"
        found[name] = said
    return found


def _can_be_sent(name: str) -> str:
    """Return a name without halves of characters, which JSON allows and UTF-8 does not."""
    return name.encode(errors="replace").decode()


class _Collector:
    """Hands the figures of some kilns to the client. What is not known is left out; it is never 0.

    Of a daemon that is silent only that is told, and since when: its last temperature is not the present one.
    """

    def __init__(self, kilns: Mapping[str, DaemonState | None]) -> None:
        self._kilns = kilns
        self._present = {kiln: said for kiln, said in kilns.items() if said is not None and not said.stale}

    def collect(self) -> Iterator[Metric]:
        """Yield each figure with its value for each kiln."""
        from prometheus_client.core import GaugeMetricFamily, InfoMetricFamily

        yield InfoMetricFamily("lehrling_build", "Version of Lehrling that gives these figures.",
                               value={"version": version("lehrling")})
        watching = GaugeMetricFamily(
            "lehrling_watching", "1 while the kiln’s daemon is heard, 0 while it is silent.", labels=["kiln"])
        age = GaugeMetricFamily("lehrling_state_age", "Time since the kiln’s daemon last wrote its state.",
                                labels=["kiln"], unit="seconds")
        for kiln, said in self._kilns.items():
            watching.add_metric([kiln], float(kiln in self._present))
            if said is not None:
                age.add_metric([kiln], said.age_s)
        yield from (watching, age)
        for figure in _FIGURES:
            family = GaugeMetricFamily(figure.name, figure.means, labels=["kiln"], unit=figure.unit)
            for kiln, said in self._present.items():
                value = said.number(figure.key)
                if value is not None:
                    family.add_metric([kiln], value)
            yield family
        yield from self._counted()

    def _counted(self) -> Iterator[Metric]:
        """Yield what is counted of each kiln whose daemon tells the present."""
        from prometheus_client.core import GaugeMetricFamily

        is_open = GaugeMetricFamily("lehrling_firing_open", "1 while a firing is open, 0 while none is.",
                                    labels=["kiln"])
        standing = GaugeMetricFamily(
            "lehrling_alerts_standing", "Alerts of the open firing whose cause goes on, consequences not counted.",
            labels=["kiln", "rank"])
        troubles = GaugeMetricFamily("lehrling_troubles_standing", "Things that are wrong with Lehrling itself.",
                                     labels=["kiln"])
        for kiln, said in self._present.items():
            is_open.add_metric([kiln], float(said.started_utc is not None))
            troubles.add_metric([kiln], len(said.troubles))
            ranks = [alert.rank for alert in map(alert_of, said.tables("alerts"))
                     if alert is not None and alert.cleared_s is None and alert.under is None]
            for rank in Rank:
                standing.add_metric([kiln, rank.value], ranks.count(rank))
        yield from (is_open, standing, troubles)
