"""A judged firing as one file to keep or send: its words and its drawing, nothing from outside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from daemon.commands.report_text import asked_of, got_of, offset_words, summary
from daemon.firing.alerts.registry import RANK_TITLES
from daemon.firing.durations import firing_clock
from daemon.firing.events import Sample
from daemon.firing.report import Report
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from web.drawing.colours import DAY
from web.drawing.decimation import thin
from web.drawing.trace_model import kind_words, picture_of
from web.drawing.trace_svg import svg
from web.firings.left_plan import free_until_left, taken_up_elsewhere
from web.firings.plan_and_run import cells, corner_points, free_spans, legs

COLUMNS = 900
"""Columns that the trace of a report is drawn from. [chosen: about as many as it is wide]"""
_TEMPLATES = Path(__file__).parents[2] / "templates"


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part of the firing as a row of the table."""

    step: int
    part: str
    start_s: float
    end_s: float
    asked: str
    """What the plan asked; empty without a plan."""
    got: str


def picture(found: Report, samples: Sequence[Sample]) -> str:
    """Return the SVG of a whole firing with the plan laid along the parts as they were run."""
    last_s = samples[-1].t_s if samples else 0.0
    trace = thin(samples, COLUMNS)
    course = free_until_left(
        taken_up_elsewhere(legs(found.planned, found.parts, last_s, ended=True), trace), trace)
    drawn = picture_of(samples, corner_points(course), found.alerts, found.setup.glass,
                       unit=found.setup.unit, columns=COLUMNS)
    return svg(replace(drawn, peak_c=found.peak_c, free=free_spans(course),
                       cells=cells(course, last_s, found.setup.unit)))


def page(found: Report, samples: Sequence[Sample]) -> str:
    """Return the report as a whole HTML document; every text is escaped by the template."""
    template = _environment().get_template("report.html")
    return template.render(
        title=found.setup.plan.title if found.setup.plan else "A firing without a plan", summary=summary(found),
        caveats=found.caveats, verdict=found.verdict_in_words(), picture=Markup(picture(found, samples)),
        alerts=found.alerts, ranks=RANK_TITLES, parts=tuple(_parts(found)), offset=offset_words(found),
        caution=NO_SAFETY_DEVICE, day=DAY) + "\n"


def _environment() -> Environment:
    """Return the templates as the page reads them, without its application."""
    found = Environment(loader=FileSystemLoader(_TEMPLATES), autoescape=True, trim_blocks=True, lstrip_blocks=True,
                        undefined=StrictUndefined)
    found.filters.update(clock=firing_clock, kind=kind_words)
    return found


def _parts(found: Report) -> Iterator[PartRow]:
    """Yield the rows of the table, in the owner's unit."""
    units = Units(found.setup.unit)
    for part in found.parts:
        end_s = part.end_s if part.end_s is not None else part.start_s
        asked = asked_of(found.planned[part.index], units) if found.planned else ""
        yield PartRow(part.step, part.part, part.start_s, end_s, asked, got_of(part, end_s - part.start_s, units))
