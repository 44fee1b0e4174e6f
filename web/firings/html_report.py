"""A judged firing as one file to keep or send: the drawing first, then the words, nothing from outside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from html import escape

from daemon.commands.report_text import RANK_WORDS, asked_of, clock, got_of, offset_words, summary
from daemon.firing.events import Alert, Sample
from daemon.firing.report import Report
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from web.drawing.colours import DAY
from web.drawing.trace_model import kind_words, picture_of
from web.drawing.trace_svg import svg
from web.firings.plan_and_run import cells, corner_points, free_spans, legs

COLUMNS = 900
_STYLE = f"""
body {{ margin: 2rem auto; max-width: 1080px; padding: 0 16px; background: {DAY["ground"]}; color: {DAY["ink"]};
  font: 1rem/1.5 system-ui, sans-serif; font-variant-numeric: tabular-nums; }}
h1 {{ font-size: 1.5rem; font-weight: 500; }} h2 {{ font-size: 1rem; }} p, dl {{ max-width: 65ch; }}
svg {{ max-width: 100%; height: auto; }} .grey, th {{ color: {DAY["grey"]}; font-weight: 400; text-align: left; }}
td, th {{ padding: 2px 1.5rem 2px 0; border-bottom: 1px solid {DAY["hair"]}; }} table {{ border-collapse: collapse; }}
dt {{ font-weight: 650; margin-top: 1rem; }} dd {{ margin: 0; }}
.wake dt {{ color: {DAY["wake"]}; }} .look dt {{ color: {DAY["look"]}; }}
@media print {{ body {{ background: none; color: #000; margin: 0; }} }}
"""


def picture(found: Report, samples: Sequence[Sample]) -> str:
    """Return the SVG of a whole firing with the plan laid along the parts as they were run."""
    last_s = samples[-1].t_s if samples else 0.0
    course = legs(found.planned, found.parts, last_s, ended=True)
    drawn = picture_of(samples, corner_points(course), found.alerts, found.setup.glass,
                       unit=found.setup.unit, columns=COLUMNS)
    return svg(replace(drawn, peak_c=found.peak_c, free=free_spans(course),
                       cells=cells(course, last_s, found.setup.unit)))


def page(found: Report, samples: Sequence[Sample]) -> str:
    """Return the report as a whole HTML document."""
    title = escape(found.setup.plan.title if found.setup.plan else "A firing without a plan")
    return "".join((
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{title}</title><style>{_STYLE}</style></head><body><h1>{title}</h1>",
        f"<p>{escape(summary(found))}</p>",
        *(f"<p>Bear in mind: {escape(caveat)}</p>" for caveat in found.caveats),
        *_verdict(found), picture(found, samples),
        *_alerts(found.alerts), *_parts(found),
        f'<p class="grey">{escape(offset_words(found))} {NO_SAFETY_DEVICE} '
        "What the glass itself suffered, cracked or stuck, no probe can see.</p></body></html>\n",
    ))


def _verdict(found: Report) -> Iterator[str]:
    for answer in found.verdict_in_words():
        yield f"<p>{escape(answer.question)} <strong>{escape(answer.answer)}</strong></p>"


def _alerts(alerts: Sequence[Alert]) -> Iterator[str]:
    yield "<h2>Alerts</h2>" if alerts else "<p>No alert.</p>"
    for alert in alerts:
        over = f", over {clock(alert.cleared_s)}" if alert.cleared_s is not None else ""
        under = f", follows from {kind_words(alert.under)}" if alert.under else ""
        text = alert.text
        yield (f'<dl class="{alert.rank.value}"><dt>{RANK_WORDS[alert.rank]}: {escape(kind_words(alert.kind))}, '
               f"{clock(alert.raised_s)}{over}{escape(under)}</dt><dd>{escape(text.what)}</dd>"
               f"<dd>{escape(text.meaning)}</dd><dd>{escape(text.do)}</dd></dl>")


def _parts(found: Report) -> Iterator[str]:
    if not found.parts:
        return
    words = Units(found.setup.unit)
    yield "<h2>Part by part</h2><table><tr><th>part<th>from<th>to<th>asked<th>got</tr>"
    for part in found.parts:
        end_s = part.end_s if part.end_s is not None else part.start_s
        asked = escape(asked_of(found.planned[part.index], words)) if found.planned else ""
        got = escape(got_of(part, end_s - part.start_s, words))
        yield (f"<tr><td>step {part.step}, {part.part}<td>{clock(part.start_s)}<td>{clock(end_s)}"
               f"<td>{asked}<td>{got}</tr>")
    yield "</table>"
