"""The same drawing as an interactive figure: plain lists for plotly's own script, no library needed here.

Colours are the names of the page's inks, ``var(--ink)``; the browser puts in the ink of the moment, so
that day and night, and a change between them, need no other figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from daemon.firing.plan.plan import to_unit
from web.drawing.scales import day_marks, temp_ticks, time_ticks
from web.drawing.trace_model import Picture, Range, bands, free_runs, pen, rated_runs
from web.preferences import twelve
from web.times import local, time_words

Figure = dict[str, Any]

_GRID = 400
"""At most as many clock ticks as the browser may choose from. [chosen: more than a screen has room for]"""
_SYMBOLS = {"wake": "square", "look": "square-open"}


def figure(picture: Picture) -> Figure:
    """Return ``picture`` as a plotly figure of plain lists; None stands for what was not measured.

    Times across are seconds of the firing, temperatures in the picture's unit. ``clock`` holds the round
    quarters of an hour (finer for a short firing, coarser for a long one) as second, minute of the day and
    the date at midnight: ticks for any zoom, with no time zone needed in the browser.
    """
    return {
        "data": [
            *_ranges(picture), _band(picture), _planned(picture), _free(picture), measured(picture), *_tip(picture),
            *_marks(picture),
        ],
        "layout": _layout(picture),
        "clock": _clock_grid(picture), "twelve": twelve(), "span_s": picture.span_s,
    }


def _shown(temp_c: float, picture: Picture) -> str:
    """Return a temperature as the readout says it: whole degrees, and never a minus before a nought."""
    return f"{round(to_unit(temp_c, picture.unit))} °{picture.unit}"


def _temps(picture: Picture, temps_c: Sequence[float | None]) -> list[float | None]:
    return [None if c is None else round(to_unit(c, picture.unit), 2) for c in temps_c]


def _ranges(picture: Picture) -> list[Figure]:
    found = []
    patterns = {"haze range": (".", 5), "anneal range": ("/", 7)}
    for one in picture.ranges:
        shape, size = patterns[one.name]
        found.append({
            "type": "scatter", "mode": "lines", "name": one.name, "hoverinfo": "skip", "fill": "toself",
            "x": [0, picture.span_s, picture.span_s, 0],
            "y": _temps(picture, [one.low_c, one.low_c, one.high_c, one.high_c]),
            "line": {"width": 0}, "fillcolor": "rgba(0,0,0,0)",
            "fillpattern": {"shape": shape, "size": size, "solidity": 0.14, "fgcolor": "var(--hatch)",
                            "fillmode": "replace", "bgcolor": "rgba(0,0,0,0)"},
        })
    return found


def _band(picture: Picture) -> Figure:
    x: list[float | None] = []
    y: list[float | None] = []
    for outline in bands(picture):
        closed = [*outline, outline[0]]
        x += [*(max(0.0, round(t, 1)) for t, _ in closed), None]
        y += [*_temps(picture, [c for _, c in closed]), None]
    return {
        "type": "scatter", "mode": "lines", "name": "plan", "hoverinfo": "skip", "x": x, "y": y,
        "fill": "toself", "fillcolor": "var(--band)", "line": {"width": 0},
    }


def _planned(picture: Picture) -> Figure:
    """Return the plan as a thin dashed line along its band."""
    return _runs("as planned", rated_runs(picture), picture,
                 {"color": "var(--grey)", "width": 1, "dash": "6px 3px"})


def _free(picture: Picture) -> Figure:
    return _runs("as fast as it goes", free_runs(picture), picture,
                 {"color": "var(--grey)", "width": 1.6, "dash": "1.6px 5px"})


def _runs(name: str, runs: Sequence[tuple[tuple[float, float], tuple[float, float]]], picture: Picture,
          line: Figure) -> Figure:
    """Return stretches of the plan as one figure of strokes that do not meet."""
    x: list[float | None] = []
    y: list[float | None] = []
    for (t0, c0), (t1, c1) in runs:
        x += [t0, t1, None]
        y += [*_temps(picture, [c0, c1]), None]
    return {"type": "scatter", "mode": "lines", "name": name, "hoverinfo": "skip", "x": x, "y": y, "line": line}


def measured(picture: Picture) -> Figure:
    """Return the measured line."""
    points = pen(picture.columns)
    return {
        "type": "scatter", "mode": "lines", "name": "measured", "x": [t_s for t_s, _ in points],
        "y": _temps(picture, [c for _, c in points]), "hoverinfo": "none",
        "customdata": ["" if c is None else f"{_clock(picture.starts, t_s)}  {_shown(c, picture)}"
                       for t_s, c in points],
        "connectgaps": False, "line": {"color": "var(--ink)", "width": 1.6},
    }


def _tip(picture: Picture) -> list[Figure]:
    if not picture.running or not picture.columns or picture.columns[-1][2] is None:
        return []
    t_s, _, mid_c, _ = picture.columns[-1]
    return [{
        "type": "scatter", "mode": "markers", "name": "now", "hoverinfo": "skip", "x": [t_s],
        "y": _temps(picture, [mid_c]), "cliponaxis": False, "marker": {"size": 7, "color": "var(--ink)"},
    }]


def _marks(picture: Picture) -> list[Figure]:
    found: list[Figure] = []
    pen_s = picture.columns[-1][0] if picture.columns else 0.0
    floor, above = to_unit(0.0, picture.unit), to_unit(picture.top_c * 0.028, picture.unit)
    for rank in ("wake", "look", "log"):
        marks = [mark for mark in picture.marks if mark.rank == rank]
        if not marks:
            continue
        ink = f"var(--{rank})" if rank in _SYMBOLS else "var(--ink)"
        ends = [max(mark.t_s, pen_s if mark.until_s is None else mark.until_s) for mark in marks]
        found.append({
            "type": "scatter", "mode": "lines", "name": f"{rank}, how long", "hoverinfo": "skip",
            "x": [t for mark, end in zip(marks, ends, strict=True) for t in (mark.t_s, end, None)],
            "y": [y for _ in marks for y in (floor, floor, None)], "cliponaxis": False,
            "line": {"color": ink, "width": 3},
        })
        found.append({
            "type": "scatter", "mode": "markers" if rank == "log" else "markers+text", "name": rank,
            "x": [mark.t_s for mark in marks], "y": [round(above, 2)] * len(marks),
            "text": [f" {_plain(mark.words)} " for mark in marks],
            "textposition": ["middle left" if mark.t_s > 0.8 * picture.span_s else "middle right" for mark in marks],
            "textfont": {"color": ink},
            "customdata": [f"{_clock(picture.starts, mark.t_s)}  {mark.words}" for mark in marks],
            "hoverinfo": "none", "cliponaxis": False,
            "marker": {"symbol": _SYMBOLS.get(rank, "line-ns-open"), "size": 9, "color": ink,
                       "line": {"color": ink, "width": 1.6}},
        })
    return found


def _layout(picture: Picture) -> Figure:
    unit = picture.unit
    temps = temp_ticks(picture.top_c, unit)
    return {
        "paper_bgcolor": "rgba(0,0,0,0)", "plot_bgcolor": "rgba(0,0,0,0)", "showlegend": False,
        "font": {"family": "system-ui, sans-serif", "size": 11.5, "color": "var(--grey)"},
        "hovermode": "x", "dragmode": "zoom", "uirevision": "kept",
        "xaxis": {
            "range": [0, picture.span_s], "autorange": False, "ticks": "outside", "tickangle": 0,
            "tickcolor": "var(--line)", "ticklen": 4, "showgrid": False, "zeroline": False,
            "linecolor": "var(--line)", "showline": True, "fixedrange": False,
        },
        "yaxis": {
            "range": [to_unit(0.0, unit), round(to_unit(picture.top_c, unit), 2)],
            "tickvals": [round(to_unit(t.temp_c, unit), 2) for t in temps], "ticktext": [t.words for t in temps],
            "gridcolor": "var(--hair)", "zeroline": False, "ticks": "", "ticklabelstandoff": 5, "fixedrange": True,
        },
        "shapes": _midnights(picture),
        "annotations": [
            *_first_day(picture),
            {"text": f"°{unit}", "showarrow": False, "xref": "paper", "x": 0, "xanchor": "right", "xshift": -6,
             "yref": "paper", "y": 0, "yanchor": "middle"},
            *(_range_words(picture, one) for one in picture.ranges),
        ],
    }


def _range_words(picture: Picture, one: Range) -> Figure:
    return {
        "name": "range", "text": one.name, "showarrow": False, "xref": "paper", "x": 0.995, "xanchor": "right",
        "yref": "y", "y": round(to_unit((one.low_c + one.high_c) / 2, picture.unit), 2), "bgcolor": "var(--ground)",
        "borderpad": 1,
        "font": {"color": "var(--grey)"},
    }


def _clock_grid(picture: Picture) -> list[tuple[float, int, str]]:
    if picture.starts is None:
        return []
    days = {mark.t_s: mark.words for mark in day_marks(picture.starts, picture.span_s)}
    found = []
    for tick in time_ticks(picture.starts, picture.span_s, _GRID):
        moment = local(picture.starts, tick.t_s)
        found.append((round(tick.t_s, 1), moment.hour * 60 + moment.minute, days.get(tick.t_s, "")))
    return found


def _first_day(picture: Picture) -> list[Figure]:
    if picture.starts is None:
        return []
    first, *later = day_marks(picture.starts, picture.span_s)
    if later and later[0].t_s < 0.32 * picture.span_s:
        return []
    return [{"name": "day", "text": first.words, "showarrow": False, "xref": "paper", "x": 0, "xanchor": "left",
             "yref": "paper", "y": 0, "yanchor": "top", "yshift": -22}]


def _midnights(picture: Picture) -> list[Figure]:
    if picture.starts is None:
        return []
    return [
        {"type": "line", "layer": "below", "xref": "x", "x0": mark.t_s, "x1": mark.t_s, "yref": "paper", "y0": 0,
         "y1": 1, "line": {"color": "var(--line)", "width": 1, "dash": "1px 3px"}}
        for mark in day_marks(picture.starts, picture.span_s) if mark.day
    ]


def _clock(starts: datetime | None, t_s: float) -> str:
    if starts is None:
        return f"{t_s / 3600:.2f} h"
    return time_words(local(starts, t_s))


def _plain(words: str) -> str:
    """Return ``words`` without what plotly would take for markup."""
    return words.replace("<", "‹").replace(">", "›")
