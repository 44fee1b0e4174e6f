"""A contact sheet of single firings: what a study missed, or woke for, as small pictures side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from daemon.firing.events import Alert, Rank, Sample
from daemon.firing.report import Report, judge
from simulations.cases import ToJudge
from simulations.firing import Simulated
from simulations.studies.onsets import Course, onset_s
from simulations.studies.study import case_named, each
from web.drawing.colours import INKS

_COLUMNS, _WIDTH, _HEIGHT, _HEAD, _PAD = 3, 420, 190, 34, 14
_LINE = 11
"""Pictures side by side; width, height, head and margin of each, and height of a line of words [px].
[chosen: three across fill a wide window]"""
_POINTS = 160
"""A firing is drawn by so many columns, each from its lowest to its highest reading. [chosen: some 2 px each]"""
_ROOM = 1.35
"""The axis ends so many times above the highest temperature, to leave room for the alerts' names.
[chosen: they need a quarter of the height]"""
_NAMED = 5
"""So many alerts are named; more have their tick only. [chosen: as many lines as that room has]"""


def contact_sheet(names: Sequence[str], title: str, jobs: int | None = None) -> str:
    """Return the firings named, judged again, as one SVG of small pictures.

    Each has the readings, hairlines where parts truly began, a broken line where something went wrong, and a
    tick with its kind for every alert: heavy where it woke.
    """
    ink = INKS["day"]
    rows = -(-len(names) // _COLUMNS)
    width, height = _COLUMNS * _WIDTH, 40 + max(1, rows) * _HEIGHT
    cells = each(_cell, names, jobs) if names else ['<text x="14" y="24">none</text>']
    placed = (
        f'<g transform="translate({_WIDTH * (n % _COLUMNS)} {40 + _HEIGHT * (n // _COLUMNS)})">{cell}</g>'
        for n, cell in enumerate(cells)
    )
    return "".join((
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" font-family="system-ui, sans-serif" font-size="11" fill="{ink["ink"]}">',
        f"<title>{escape(title)}</title>", f'<rect width="{width}" height="{height}" fill="{ink["ground"]}"/>',
        f'<text x="{_PAD}" y="24" font-size="14">{escape(title)}</text>', *placed, "</svg>\n",
    ))


def _cell(name: str) -> str:
    """Fire, judge and draw the firing of that name."""
    case = case_named(name)
    fired = case.fire()
    case = case.labelled(fired)
    return "".join(_drawn(case, fired, judge(case.setup, case.entries(fired))))


def _drawn(case: ToJudge, fired: Simulated, report: Report) -> Iterator[str]:
    """Yield the SVG of one firing's picture, its upper left corner at 0, 0."""
    ink, course = INKS["day"], Course(case, fired)
    read = [s for s in fired.samples if s.temp_c is not None]
    yield f'<text x="{_PAD}" y="14">{escape(case.name)}</text>'
    if len(read) < 2:
        return
    first_s, last_s = read[0].t_s, read[-1].t_s
    highest_c = _ROOM * max(max(s.temp_c or 0.0 for s in read), case.plan.highest_c)

    def x(t_s: float) -> float:
        return _PAD + (t_s - first_s) / (last_s - first_s) * (_WIDTH - 2 * _PAD)

    def y(temp_c: float) -> float:
        share = min(max(temp_c, 0.0), highest_c) / highest_c
        return _HEIGHT - _PAD - share * (_HEIGHT - _HEAD - _PAD)

    for part in fired.truth.parts:
        if part.start_s > first_s:
            yield f'<path d="M{x(part.start_s):.0f} {_HEAD}V{_HEIGHT - _PAD}" stroke="{ink["hair"]}"/>'
    for expected in case.expected:
        at_s = onset_s(expected, course)
        if at_s is not None:
            yield f'<path d="M{x(at_s):.0f} {_HEAD}V{_HEIGHT - _PAD}" stroke="{ink["ink"]}" stroke-dasharray="2 3"/>'
    if case.expected:
        asked = "; ".join(f"{'/'.join(expected.kinds)}, {expected.rank}" for expected in case.expected)
        yield f'<text x="{_WIDTH - _PAD}" y="14" text-anchor="end" fill="{ink["grey"]}">asked: {escape(asked)}</text>'
    strokes = "L".join(f"{x(at):.1f} {y(low):.1f}V{y(high):.1f}" for at, low, high in _columns(read))
    yield f'<path d="M{strokes}" fill="none" stroke="{ink["grey"]}" stroke-width="1.3" stroke-linejoin="round"/>'
    told = [a for a in report.alerts if a.under is None and a.rank is not Rank.LOG]
    for n, alert in enumerate(told):
        yield _tick(alert, x(alert.raised_s), n, ink["ink"])


def _tick(alert: Alert, x: float, n: int, ink: str) -> str:
    """Return the tick of the ``n``-th alert at ``x`` [px], with its name while there is room."""
    woke, level = alert.rank is Rank.WAKE, _HEAD + _LINE * (n % _NAMED)
    anchor = "end" if x > _WIDTH / 2 else "start"
    words = f'<text x="{x - 4 if anchor == "end" else x + 4:.0f}" y="{level + 8}" text-anchor="{anchor}">' \
            f"{escape(alert.kind)}</text>" if n < _NAMED else ""
    return f'<path d="M{x:.0f} {level}v12" stroke="{ink}" stroke-width="{3 if woke else 1}"/>{words}'


def _columns(read: Sequence[Sample]) -> Iterator[tuple[float, float, float]]:
    """Yield (second, lowest °C, highest °C) of about _POINTS columns."""
    width = max(1, len(read) // _POINTS)
    for i in range(0, len(read), width):
        temps = [s.temp_c for s in read[i:i + width] if s.temp_c is not None]
        yield read[i].t_s, min(temps), max(temps)
