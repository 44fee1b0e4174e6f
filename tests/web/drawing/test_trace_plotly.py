"""The interactive plot is the same drawing, and plotly itself finds nothing wrong with it."""

from __future__ import annotations

import json
from datetime import datetime
from zoneinfo import ZoneInfo

import plotly.graph_objects as go
import pytest

from daemon.firing.events import Alert, Rank, Sample, Text
from daemon.glass.materials import FAMILIES
from web.drawing.colours import DAY
from web.drawing.trace_model import Mark, Picture, picture_of
from web.drawing.trace_plotly import figure

STARTS = datetime(2026, 3, 3, 18, 20, tzinfo=ZoneInfo("Europe/Berlin"))
PLAN = ((0.0, 20.0), (18_000.0, 800.0), (25_000.0, 516.0))
TEXT = Text("", "", "")


def _picture(unit: str = "C") -> Picture:
    samples = [Sample(float(t), 20.0 + t / 25) for t in range(0, 20_000, 5) if not 5000 < t < 7000]
    alerts = [Alert(1, "cooling-too-fast", Rank.WAKE, 100, 130, TEXT, woke_s=140),
              Alert(2, "<b>odd</b>", Rank.LOOK, 200, 230, TEXT), Alert(3, "haze-range", Rank.LOG, 300, 330, TEXT)]
    return picture_of(samples, PLAN, alerts, FAMILIES["90"], starts=STARTS, unit=unit)


def _painted(value: object) -> object:
    """Put the day's inks where the browser would."""
    if isinstance(value, str) and value.startswith("var(--"):
        return DAY[value[6:-1]]
    if isinstance(value, dict):
        return {key: _painted(found) for key, found in value.items()}
    if isinstance(value, list):
        return [_painted(found) for found in value]
    return value


@pytest.mark.parametrize("unit", ["C", "F"])
def test_plotly_accepts_every_property(unit):
    # plotly's own validators are the outside reference; they raise ValueError at an unknown property.
    made = figure(_picture(unit))
    layout = json.loads(json.dumps(made["layout"]))
    for axis in ("xaxis", "yaxis"):
        layout[axis].pop("ticklabelstandoff", None)  # newer than some supported plotly versions
    go.Figure(data=_painted(json.loads(json.dumps(made["data"]))), layout=_painted(layout))


def test_a_gap_is_a_none_in_the_line_and_nothing_connects_over_it():
    measured = next(t for t in figure(_picture())["data"] if t["name"] == "measured")
    assert measured["connectgaps"] is False
    blank = [x for x, y in zip(measured["x"], measured["y"], strict=True) if y is None]
    assert blank == [5000.0]


def test_figures_are_plain_lists_that_json_can_carry():
    text = json.dumps(figure(_picture()), allow_nan=False)
    assert "bdata" not in text


def test_fahrenheit_is_in_the_figures_and_not_only_in_the_words():
    measured = next(t for t in figure(_picture("F"))["data"] if t["name"] == "measured")
    assert measured["y"][0] == pytest.approx(68.0, abs=2.0)  # 20 °C


def test_alerts_differ_by_shape_and_plotly_is_given_no_markup():
    marks = {t["name"]: t for t in figure(_picture())["data"] if t["name"] in {"wake", "look", "log"}}
    assert len({t["marker"]["symbol"] for t in marks.values()}) == 3
    assert "<" not in marks["look"]["text"][0]


def test_the_clock_grid_knows_midnight_and_its_date():
    grid = figure(_picture())["clock"]
    midnight = next(entry for entry in grid if entry[1] == 0)
    assert midnight[0] == 5 * 3600 + 40 * 60
    assert midnight[2] == "day 2, Wed 4 Mar"


def test_an_empty_firing_still_makes_a_figure():
    json.dumps(figure(Picture()), allow_nan=False)
    json.dumps(figure(Picture(starts=STARTS, running=True)), allow_nan=False)


def test_the_readout_says_the_clock_and_whole_degrees_in_our_own_words():
    """Nothing of the plotting library's own is shown: it would say 13.978k for the second of the firing."""
    starts = datetime(2026, 3, 3, 18, 20, tzinfo=ZoneInfo("Europe/Berlin"))
    picture = Picture(columns=((0, -0.3, -0.3, -0.3), (13_978, 515.6, 515.6, 515.6)), starts=starts,
                      marks=(Mark(13_000.0, None, "wake", "sudden drop"),))
    drawn = figure(picture)
    traces = {trace["name"]: trace for trace in drawn["data"]}
    assert traces["measured"]["customdata"] == ["18:20  0 °C", "22:12  516 °C"]  # 13,978 s are 3 h 52 min 58 s
    assert traces["wake"]["customdata"] == ["21:56  sudden drop"]
    assert {trace["hoverinfo"] for trace in drawn["data"]} <= {"none", "skip"}


@pytest.mark.parametrize(("top_c", "named"), [(672.0, {"anneal range"}), (704.0, {"haze range", "anneal range"})])
def test_a_range_is_named_only_where_its_band_can_be_seen(top_c, named):
    samples = [Sample(float(t), 20.0 + (top_c - 20.0) * t / 7200) for t in range(0, 7201, 60)]
    made = figure(picture_of(samples, (), (), FAMILIES["90"], starts=STARTS))
    names = {note["text"]: note["y"] for note in made["layout"]["annotations"] if note.get("name") == "range"}
    bands = {trace["name"]: trace["y"] for trace in made["data"] if trace["name"].endswith("range")}
    assert names.keys() == bands.keys() == named
    top = made["layout"]["yaxis"]["range"][1]
    assert all(min(bands[name]) <= y <= max(bands[name]) <= top for name, y in names.items())
