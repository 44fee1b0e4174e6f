"""A judged firing as one file to keep or send: its words and its drawing, nothing from outside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from daemon.commands.printed.report_text import offset_words, over_words, part_rows, summary
from daemon.firing.alerts.registry import RANK_TITLES
from daemon.firing.durations import firing_clock
from daemon.firing.events import Sample
from daemon.firing.report import Report
from daemon.firing.told_before import keyed_in_at
from daemon.firing.units import NO_SAFETY_DEVICE
from web.drawing.colours import DAY
from web.drawing.decimation import thin
from web.drawing.trace_model import kind_words, picture_of
from web.drawing.trace_svg import svg
from web.firings.left_plan import before_lines, free_until_left, taken_up_elsewhere
from web.firings.plan_and_run import cells, corner_points, free_spans, legs

COLUMNS = 900
"""Columns that the trace of a report is drawn from. [chosen: about as many as it is wide]"""
_TEMPLATES = Path(__file__).parents[2] / "templates"


def picture(found: Report, samples: Sequence[Sample]) -> str:
    """Return the SVG of a whole firing with the plan laid along the parts as they were run."""
    last_s = samples[-1].t_s if samples else 0.0
    trace = thin(samples, COLUMNS)
    keyed_in = None if found.setup.plan is None else found.setup.plan.keyed_in
    course = taken_up_elsewhere(legs(found.planned, found.parts, last_s, ended=True), trace)
    course = free_until_left(before_lines(course, keyed_in, trace), trace)
    drawn = picture_of(samples, corner_points(course), found.alerts, found.setup.glass,
                       unit=found.setup.unit, columns=COLUMNS)
    return svg(replace(drawn, peak_c=found.peak_c, free=free_spans(course),
                       cells=cells(course, last_s, found.setup.unit)))


def page(found: Report, samples: Sequence[Sample]) -> str:
    """Return the report as a whole HTML document; every text is escaped by the template."""
    keyed_s = keyed_in_at(found.setup)
    template = _environment().get_template("report.html")
    return template.render(
        title=found.setup.plan.title if found.setup.plan else "A firing without a plan", summary=summary(found),
        caveats=found.caveats, verdict=found.verdict_in_words(), picture=Markup(picture(found, samples)),
        alerts=tuple((alert, over_words(alert, keyed_s)) for alert in found.alerts), ranks=RANK_TITLES,
        parts=tuple(part_rows(found)), offset=offset_words(found),
        caution=NO_SAFETY_DEVICE, day=DAY) + "\n"


def _environment() -> Environment:
    """Return the templates as the page reads them, without its application."""
    found = Environment(loader=FileSystemLoader(_TEMPLATES), autoescape=True, trim_blocks=True, lstrip_blocks=True,
                        undefined=StrictUndefined)
    found.filters.update(clock=firing_clock, kind=kind_words)
    return found
