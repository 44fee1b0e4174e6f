"""A judged firing drawn as the page draws it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from daemon.firing.events import Sample
from daemon.firing.report import Report
from web.course import cells, corner_points, free_spans, legs
from web.drawing import svg
from web.picture import picture_of

COLUMNS = 900


def picture(found: Report, samples: Sequence[Sample]) -> str:
    """Return the SVG of a whole firing with the plan laid along the parts as they were run."""
    last_s = samples[-1].t_s if samples else 0.0
    course = legs(found.planned, found.parts, last_s, ended=True)
    drawn = picture_of(samples, corner_points(course), found.alerts, found.setup.glass,
                       unit=found.setup.unit, columns=COLUMNS)
    return svg(replace(drawn, free=free_spans(course), cells=cells(course, last_s, found.setup.unit)))
