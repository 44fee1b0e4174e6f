"""A firing's drawings and table as they go into a page."""

from __future__ import annotations

from dataclasses import dataclass, replace

from markupsafe import Markup

from daemon.firing.plan.schedule import planned_parts
from web.drawing.colours import DAY
from web.drawing.step_strip_svg import HEIGHT, LOW, strip_svg
from web.drawing.strip_words import strip_words
from web.drawing.trace_svg import NARROW, RIGHT, WIDE, left_of, svg
from web.firings.plan_and_run import Row, rows
from web.firings.record import Record


@dataclass(frozen=True)
class Sheet:
    """The strip and the trace, wide for a desk and narrow for a phone, and the table beside them."""

    strip_wide: Markup
    strip_narrow: Markup
    trace_wide: Markup
    trace_narrow: Markup
    rows: tuple[Row, ...]


def sheet_of(record: Record) -> Sheet:
    """Return the drawings of a firing; their colours are the page's own, by the stylesheet."""
    planned = planned_parts(record.plan.parsed()) if record.plan is not None else ()
    table = rows(record.course, record.last_s, record.picture.unit, planned, record.picture.columns)
    return Sheet(*strips_of(record), *traces_of(record), table)


def strips_of(record: Record, shown: tuple[float, float] | None = None) -> tuple[Markup, Markup]:
    """Return the strip, wide and narrow, of the stretch that is ``shown`` [s]; empty where there is no plan.

    The narrow one has the words of its parts as lines below it.
    """
    picture = record.picture
    if not picture.cells:
        return Markup(), Markup()
    # Every word in a drawing is escaped where it is drawn.
    from_s, to_s = shown or (0.0, picture.span_s)
    wide, narrow = (
        strip_svg(picture.cells, to_s - from_s, width, DAY, f"strip-{width}", left_of(width), RIGHT, from_s, height)
        for width, height in ((WIDE[0], HEIGHT), (NARROW[0], LOW))
    )
    in_sight = [cell for cell in picture.cells if cell.end_s > from_s and cell.start_s < to_s]
    return Markup(wide), Markup(narrow + strip_words(in_sight, record.starts))


def traces_of(record: Record) -> tuple[Markup, Markup]:
    """Return the trace, wide and narrow."""
    picture = replace(record.picture, cells=())
    return (Markup(svg(picture, WIDE, name="wide", ground=False)),
            Markup(svg(picture, NARROW, name="narrow", ground=False)))
