"""A study's figures as a table to read and a plot to look at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from math import log10

from simulations.generator import CLEAN, HARSH
from simulations.studies.delay_targets import DELAY_TARGETS, DelayTarget
from simulations.studies.scoring import Score
from simulations.studies.summary import Line, kinds_of, lines, missed, quiet, woken
from web.drawing.colours import INKS

_HEAD = (
    "row", "expected", "rank", "n", "found %", "rank right %", "name right %", "raised: median", "p95", "least",
    "woke: median", "p95", "°C lost: median", "p95", "other wakes", "floor", "reach",
)
_LISTED = 40
"""So many firings of each sort are listed with the command that runs them again. [chosen: a page]"""

_SHOWN = 6
"""So many firings are named for each mechanism. [chosen: a line]"""


def table(scores: Sequence[Score]) -> Iterator[str]:
    """Yield the lines of the table of faulty firings, as Markdown; delays in minutes from the true onset."""
    yield "| " + " | ".join(_HEAD) + " |"
    yield "|---|---|---|" + "--:|" * (len(_HEAD) - 3)
    for line in lines(scores):
        yield "| " + " | ".join(_cells(line)) + " |"


def _cells(line: Line) -> Iterator[str]:
    """Yield the cells of a line of the table, in the order of _HEAD."""
    yield from (line.row, line.kind, line.rank, str(line.asked))
    yield from (_share(n, line.asked) for n in (line.found, line.ranked, line.named))
    yield from (_figure(line.raised.median), _figure(line.raised.p95), _figure(line.raised.least))
    yield from (_figure(line.woke.median), _figure(line.woke.p95))
    yield from (_figure(line.lost_k.median), _figure(line.lost_k.p95), str(line.unexpected_wakes))
    target = DELAY_TARGETS.get(line.row, DelayTarget())
    yield _figure(target.floor)
    yield _reach(line.row)


def _reach(row: str) -> str:
    """Return the delays promised of a row as median / 95th percentile; empty where none are."""
    found = [target for name, target in DELAY_TARGETS.items() if name == row or name == f"{row}-woke"]
    return "; ".join(_aims(target) + (" woke" if target.at == "woke" else "") for target in found)


def _aims(target: DelayTarget) -> str:
    """Return the median and the 95th percentile promised, as far as they are."""
    return " / ".join(f"{aim:g}" for aim in (target.median, target.p95) if aim is not None)


def _figure(value: float | None) -> str:
    """Return a figure to one decimal; empty where there is none."""
    return "" if value is None else f"{value:.1f}"


def _share(part: int, whole: int) -> str:
    """Return a share in per cent; nearly all is not all."""
    digits = 1 if whole and 99.5 <= 100 * part / whole < 100 else 0
    return f"{100 * part / whole:.{digits}f}" if whole else ""


def document(scores: Sequence[Score], day: date, what: str) -> Iterator[str]:
    """Yield the lines of the whole figures file, as Markdown.

    Parameters
    ----------
    scores
        Every firing's.
    day
        When it was run.
    what
        The command that gave it.
    """
    faulty = [s for s in scores if s.row not in (CLEAN, HARSH)]
    yield f"# Study of {day.isoformat()}"
    yield ""
    yield f"`{what}`"
    yield ""
    yield "Simulated firings, judged and held against what truly happened. Delays are minutes of firing from the true"
    yield "onset of the change to when it was told, and, where the rank is wake, from when that was due to when it"
    yield "woke. A firing whose fault never bit is left out of its row, as is a quiet one whose kiln was too weak to"
    yield "run its plan, in which it truly got too hot or cooled too fast, whose anneal was truly cut short, or"
    yield "whose top was truly overrun."
    yield ""
    yield from _quiet_table(scores)
    yield from _mechanisms(scores)
    if faulty:
        yield ""
        yield from table(faulty)
        yield ""
        yield from _totals(faulty)
    yield ""
    yield from _cost(scores)
    yield from _to_run_again(scores)


def _quiet_table(scores: Sequence[Score]) -> Iterator[str]:
    """Yield the table of firings with nothing wrong: what they were told, and how well they were followed."""
    yield ("| nothing wrong | firings | wakes in 1,000 | firings woken in 1,000 | looks a firing | boundaries | "
           "within 3 min % | 10 min % | missing a firing | extra a firing |")
    yield "|---|" + "--:|" * 9
    groups = [(row, [s for s in scores if s.row == row and s.is_as_meant]) for row in (CLEAN, HARSH)]
    groups.append(("faulty", [s for s in scores if s.row not in (CLEAN, HARSH) and s.boundaries]))
    for row, some in groups:
        if not some:
            continue
        q = quiet(row, some)
        first = ["", "", ""] if row == "faulty" else [
            f"{q.wakes_per_1000:.1f}", f"{q.woken_per_1000:.1f}", f"{q.looks_per_firing:.2f}"]
        yield "| " + " | ".join((
            row, str(q.firings), *first, str(q.boundaries), f"{100 * q.within_3:.1f}", f"{100 * q.within_10:.1f}",
            f"{q.missing:.2f}", f"{q.extra:.2f}")) + " |"
    for row in (CLEAN, HARSH):
        for rank in ("wake", "look"):
            counts = kinds_of([s for s in scores if s.row == row and s.is_as_meant], rank)
            if counts:
                yield ""
                yield f"{row.capitalize()} {rank}s: " + ", ".join(f"{kind} {n}" for kind, n in counts.items()) + "."


def _mechanisms(scores: Sequence[Score]) -> Iterator[str]:
    """Yield what truly went on when firings with nothing wrong woke somebody, and when they were given a look."""
    quiet_ones = [score for score in scores if score.row in (CLEAN, HARSH) and score.is_as_meant]
    for rank in ("wake", "look"):
        sorts: dict[str, list[tuple[str, str]]] = {}
        for score in quiet_ones:
            told = zip(score.wakes, score.mechanisms, strict=True) if rank == "wake" else zip(
                score.looks, score.look_mechanisms, strict=True)
            for (kind, _), what in told:
                sorts.setdefault(what, []).append((kind, score.name))
        if sorts:
            yield ""
            yield f"| what went on at the {rank}s | {rank}s | firings | by kind | some of them |"
            yield "|---|--:|--:|---|---|"
        for what, found in sorted(sorts.items(), key=lambda entry: -len(entry[1])):
            kinds, names = Counter(kind for kind, _ in found), list(dict.fromkeys(name for _, name in found))
            yield (f"| {what} | {len(found)} | {len(names)} | "
                   + ", ".join(f"{kind} {n}" for kind, n in kinds.most_common())
                   + " | " + ", ".join(f"`{name}`" for name in names[:_SHOWN]) + " |")


def _totals(faulty: Sequence[Score]) -> Iterator[str]:
    """Yield the sentence that sums up all faulty firings."""
    answers = [answer for score in faulty for answer in score.answers]
    found = [answer for answer in answers if answer.raised_min is not None]
    serious = [answer for answer in answers if answer.rank == "wake"]
    woke = sum(answer.woke_min is not None for answer in serious)
    yield (f"Required alerts found: {_share(len(found), len(answers))} % of {len(answers)}; serious ones at rank "
           f"wake: {_share(woke, len(serious))} % of {len(serious)}; best name: "
           f"{_share(sum(a.is_named_right for a in found), len(found))} %. Left out because the fault never bit: "
           f"{sum(not s.is_as_meant for s in faulty)}, of which "
           f"{sum(bool(s.wakes) for s in faulty if not s.is_as_meant)} woke by another name.")


def _cost(scores: Sequence[Score]) -> Iterator[str]:
    """Yield the sentence about processor time."""
    readings = sum(s.readings for s in scores)
    cpu_s = sum(s.cpu_s for s in scores)
    if scores and readings:
        yield (f"CPU: {cpu_s / len(scores):.2f} s a firing to judge ({1e6 * cpu_s / readings:.0f} µs a reading, "
               f"glass included), {sum(s.fire_s for s in scores) / len(scores):.2f} s to fire; "
               f"{len(scores)} firings, {readings:,} readings.")


def _to_run_again(scores: Sequence[Score]) -> Iterator[str]:
    """Yield the lists of firings that woke without need and that missed something, by name."""
    for title, some in (("False wakes", woken(scores)), ("Missed, or not loud enough", missed(scores))):
        if not some:
            continue
        yield ""
        more = "" if len(some) <= _LISTED else f", the first {_LISTED}"
        yield f"{title} ({len(some)}{more}); `python -m simulations case NAME --svg OUT.svg` runs one again:"
        yield ""
        for score in some[:_LISTED]:
            yield f"- `{score.name}`" + "".join(f", {kind} at {t_s:.0f} s" for kind, t_s in score.wakes)


_LEFT, _TOP, _STEP, _WIDTH = 170, 40, 22, 900
_FROM_MIN, _TO_MIN = 0.1, 300.0
"""Left and upper margin, height of a row and width of the plot [px]; ends of its logarithmic axis [min].
[chosen: to be read on a page of paper]"""


def _x(minutes: float) -> float:
    """Return where on the logarithmic axis a delay lies [px]."""
    share = (log10(min(_TO_MIN, max(_FROM_MIN, minutes))) - log10(_FROM_MIN)) / (log10(_TO_MIN) - log10(_FROM_MIN))
    return _LEFT + share * (_WIDTH - _LEFT - 20)


def plot(scores: Sequence[Score]) -> str:
    """Return the delays of every row as an SVG: a tick a firing, floor and reach beside them."""
    rows = list(dict.fromkeys(s.row for s in scores if s.answers))
    ink, height = INKS["day"], _TOP + _STEP * len(rows) + 30
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" width="{_WIDTH}" height="{height}" '
        'role="img" font-family="system-ui, sans-serif" font-size="11.5">',
        "<title>Minutes from the true onset to the alert, a tick for each simulated firing</title>",
        f'<rect width="{_WIDTH}" height="{height}" fill="{ink["ground"]}"/>',
    ]
    for minutes in (0.1, 0.3, 1, 3, 10, 30, 100, 300):
        x, y = _x(minutes), height - 10
        parts.append(f'<path d="M{x:.1f} {_TOP - 12}V{height - 26}" stroke="{ink["hair"]}"/>'
                     f'<text x="{x:.1f}" y="{y}" text-anchor="middle" fill="{ink["grey"]}">{minutes:g}</text>')
    parts.append(f'<text x="{_LEFT}" y="18" fill="{ink["grey"]}">minutes from the true onset: thin ticks told, '
                 'heavy ticks woke; tinted from floor to reach (95 %)</text>')
    for n, row in enumerate(rows):
        parts += _row_svg(row, [s for s in scores if s.row == row], _TOP + _STEP * n, ink)
    return "".join([*parts, "</svg>\n"])


def _row_svg(row: str, scores: Sequence[Score], y: int, ink: Mapping[str, str]) -> Iterator[str]:
    """Yield a row of the plot with its upper edge at ``y`` [px]."""
    yield f'<text x="{_LEFT - 10}" y="{y + 12}" text-anchor="end" fill="{ink["ink"]}">{row}</text>'
    target = DELAY_TARGETS.get(row)
    if target is not None and target.p95 is not None:
        x0, x1 = _x(target.floor or _FROM_MIN), _x(target.p95)
        yield f'<rect x="{x0:.1f}" y="{y + 1}" width="{x1 - x0:.1f}" height="14" fill="{ink["band"]}"/>'
    for answer in (a for s in scores for a in s.answers):
        for minutes, pen in ((answer.raised_min, 0.8), (answer.woke_min, 2.0)):
            if minutes is not None:
                low = y + 8 if pen > 1 else y + 2
                yield f'<path d="M{_x(minutes):.1f} {low}v6" stroke="{ink["ink"]}" stroke-width="{pen}"/>'
    lost = sum(a.raised_min is None for s in scores for a in s.answers)
    if lost:
        yield f'<text x="{_WIDTH - 12}" y="{y + 12}" text-anchor="end" fill="{ink["ink"]}">{lost} missed</text>'

