"""One true night written in the shapes that loggers use; each must be read back as the same readings.

The shapes are our own, made of what RFC 4180, ISO 8601, spreadsheets and national habits of writing dates and
decimals allow [common practice].
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.firing.events import Sample
from daemon.foreign_traces.moments import TimeForm
from daemon.foreign_traces.readings import Readings, read
from daemon.foreign_traces.table import read_table
from daemon.foreign_traces.understanding import Corrections, Understanding, understand

BERLIN = ZoneInfo("Europe/Berlin")
DAY_0 = datetime(1899, 12, 30)  # noqa: DTZ001 (a spreadsheet knows no zone)
BEGAN = datetime(2026, 11, 21, 19, 30, tzinfo=UTC)
NIGHT = [(30 * i, min(20.0 + 1.5 * i, 812.25) - max(0, i - 700) * 0.75) for i in range(1500)]
"""A climb by 180 °C/h to 812.25 °C, a hold and a fall, a row every 30 s."""


GUESS = Corrections()


def taken(text: str, said: Corrections = GUESS, delimiter: str | None = None,
          zone: ZoneInfo = BERLIN) -> tuple[Understanding, Readings]:
    found = understand(read_table(text, "night.csv", delimiter), "night.csv", zone, said)
    return found, read(found, "night.csv")


def refusal(text: str, **rest: object) -> str:
    with pytest.raises(BadInput) as refused:
        taken(text, **rest)  # type: ignore[arg-type]
    assert "night.csv" in refused.value.text or "--" in refused.value.text
    assert refused.value.remedy
    return refused.value.text


def local(t_s: int) -> datetime:
    return (BEGAN + timedelta(seconds=t_s)).astimezone(BERLIN)


def comma(value: float) -> str:
    return f"{value:.2f}".replace(".", ",")


def fahrenheit(temp_c: float) -> float:
    return temp_c * 9 / 5 + 32


def lines(head: str, row: Callable[[int, float], str], night: Iterable[tuple[int, float]] = NIGHT) -> str:
    return head + "".join(row(t_s, temp_c) + "\n" for t_s, temp_c in night)


SHAPES: dict[str, tuple[str, bool]] = {
    "seconds and celsius": (lines("seconds,celsius\n", lambda t, c: f"{t},{c}"), False),
    "no head at all": (lines("", lambda t, c: f"{t},{c}"), False),
    "semicolons and commas": (
        lines("Zeit;Temperatur °C;Sollwert\n",
              lambda t, c: f"{local(t):%d.%m.%Y %H:%M:%S};{comma(c)};{comma(c + 3)}"), True),
    "month first, AM and PM, °F": (
        lines("Date,Time,Kiln (F)\n",
              lambda t, c: f"{local(t):%m/%d/%Y},{local(t):%I:%M:%S %p},{fahrenheit(c):.2f}"), True),
    "a page above the table": (
        lines('"Made by nobody"\n"Serial","12"\n\n"No.","Date Time","T1 (°C)","Ambient (°C)"\n',
              lambda t, c: f'"{t // 30 + 1}","{local(t):%Y-%m-%d %H:%M:%S}","{c}","{21 + t / 9000:.1f}"'), True),
    "ISO 8601 with its offset": (
        lines("timestamp,temp\n", lambda t, c: f"{(BEGAN + timedelta(seconds=t)).isoformat()},{c}"), True),
    "ISO 8601 in UTC": (
        lines("timestamp\ttemp\n", lambda t, c: f"{BEGAN + timedelta(seconds=t):%Y-%m-%dT%H:%M:%SZ}\t{c}"), True),
    "seconds since 1970": (
        lines("time;°C\n", lambda t, c: f"{BEGAN.timestamp() + t:.0f};{c}"), True),
    "thousandths since 1970": (
        lines("time;°C\n", lambda t, c: f"{(BEGAN.timestamp() + t) * 1000:.0f};{c}"), True),
    "time since the start": (
        lines("Elapsed|Probe\n", lambda t, c: f"{t // 3600:02d}:{t // 60 % 60:02d}:{t % 60:02d}|{c}"), False),
    "minutes with a decimal comma, quoted": (
        lines('"min","T"\n', lambda t, c: f'"{comma(t / 60)}","{comma(c)}"'), False),
    "hours": (lines("hours;T\n", lambda t, c: f"{t / 3600:.6f};{c}"), False),
    "days of a spreadsheet": (
        lines("Time,Temp\n",
              lambda t, c: f"{(local(t).replace(tzinfo=None) - DAY_0) / timedelta(days=1):.8f},{c}"),
        True),
    "blanks between": (lines("", lambda t, c: f"{t} {c}"), False),
    "units in the cells": (
        lines("time,probe\n", lambda t, c: f"{local(t):%Y-%m-%d %H:%M:%S},{c} °C"), True),
    "a row of units": (
        lines("Time,Channel 1,Channel 2\n(s),(°C),(%)\n", lambda t, c: f"{t},{c},{t % 100}"), False),
    "names of months": (
        lines("when,kiln\n", lambda t, c: f"{local(t):%d %b %Y %H:%M:%S},{c}"), True),
    "the newest row first": (
        "time,temp\n" + "".join(f"{local(t):%Y-%m-%d %H:%M:%S},{c}\n" for t, c in reversed(NIGHT)), True),
    "an empty cell at the end": (lines("s;T;\n", lambda t, c: f"{t};{c};"), False),
    "times of day over midnight": (lines("clock,T\n", lambda t, c: f"{local(t):%H:%M:%S},{c}"), False),
    "thousands with a comma": (
        lines("s\tT in °F\n", lambda t, c: f"{t}\t{fahrenheit(c):,.2f}"), False),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_each_shape_is_read_as_the_same_night(shape):
    text, dated = SHAPES[shape]
    _, readings = taken(text)
    assert [sample.t_s for sample in readings.samples] == [t_s for t_s, _ in NIGHT]
    assert [sample.temp_c for sample in readings.samples] == pytest.approx([temp_c for _, temp_c in NIGHT], abs=0.006)
    assert readings.began == (BEGAN if dated else None)


@given(delimiter=st.sampled_from(";\t|,"), mark=st.sampled_from(".,"), unit=st.sampled_from("CF"),
       written=st.sampled_from(["%d.%m.%Y %H:%M:%S", "%Y-%m-%d %H:%M:%S", "%m/%d/%Y %I:%M:%S %p", "%d-%b-%Y %H:%M"]),
       before=st.integers(0, 2), after=st.integers(0, 2), every_s=st.sampled_from([60, 300]),
       began=st.integers(0, 10 * 365 * 1440))
def test_delimiter_decimals_unit_and_dates_in_any_mixture(delimiter, mark, unit, written, before, after, every_s,
                                                          began):
    began = datetime(2020, 1, 1, tzinfo=UTC) + timedelta(minutes=began)
    zone = ZoneInfo("UTC")
    rows = []
    for i in range(300):
        temp_c = 20 + 2.5 * i if i < 250 else 645 - 4.0 * (i - 250)
        value = f"{temp_c if unit == 'C' else fahrenheit(temp_c):.1f}".replace(".", mark)
        cells = [*["7"] * before, (began + timedelta(seconds=every_s * i)).strftime(written), value, *["0"] * after]
        rows.append(delimiter.join(f'"{cell}"' for cell in cells))
    head = delimiter.join([*["Output %"] * before, "Date and time", f"Temperature °{unit}", *["Alarm"] * after])
    day_first: Corrections = Corrections(dates="month-first" if written.startswith("%m") else "day-first")
    _, readings = taken("\n".join([head, *rows]), day_first, zone=zone)
    assert readings.began == began
    assert [s.t_s for s in readings.samples] == [every_s * i for i in range(300)]
    assert max(s.temp_c for s in readings.samples) == pytest.approx(645, abs=2.6)


def stamped(local_times: Iterable[str]) -> str:
    return "time,°C\n" + "".join(f"{at},{500 - i}\n" for i, at in enumerate(local_times))


def test_an_hour_that_comes_twice_in_autumn_is_two_hours():
    """Summer time ends in Berlin on 25 October 2026 at 3:00, which is 2:00 again [from memory: the EU's rule]."""
    _, readings = taken(stamped(
        f"2026-10-25 0{hour}:{minute:02d}" for hour in (1, 2, 2, 3) for minute in range(0, 60, 10)))
    assert [s.t_s for s in readings.samples] == [600 * i for i in range(24)]
    assert readings.began == datetime(2026, 10, 24, 23, tzinfo=UTC)


def test_an_hour_that_is_left_out_in_spring_is_no_gap():
    _, readings = taken(stamped(
        f"2026-03-29 0{hour}:{minute:02d}" for hour in (1, 3) for minute in range(0, 60, 10)))
    assert [s.t_s for s in readings.samples] == [600 * i for i in range(12)]


def test_a_clock_put_back_in_a_zone_without_summer_time_is_refused_with_the_remedy():
    twice = stamped(f"2026-10-25 0{hour}:{minute:02d}" for hour in (1, 2, 2, 3) for minute in range(0, 60, 10))
    told = refusal(twice, zone=ZoneInfo("UTC"))
    assert "line 14" in told
    assert "--zone" in told


def test_rows_that_share_a_minute_are_spread_over_it():
    text = "time,°C\n" + "".join(f"2026-11-21 20:{i // 6:02d},{20 + i}\n" for i in range(120))
    _, readings = taken(text)
    assert [s.t_s for s in readings.samples] == [10 * i for i in range(120)]
    assert any("spread" in note for note in readings.notes)


def test_what_is_no_number_is_blind_and_never_a_temperature():
    cells = ["20", "---", "OL", "open", "", "9999", "-9999", "21", *["22"] * 5]
    text = "s,T1 °C\n" + "".join(f"{10 * i},{cell}\n" for i, cell in enumerate(cells * 4))
    _, readings = taken(text)
    assert [(s.temp_c, s.fault) for s in readings.samples[:8]] == [
        (20.0, None), (None, "silent"), (None, "range"), (None, "open"), (None, "silent"), (None, "range"),
        (None, "range"), (21.0, None)]


def test_a_gap_stays_a_gap_and_a_double_row_counts_once():
    text = "s,T °C\n" + "".join(f"{t},{20 + t / 60:.1f}\n" for t in (0, 60, 120, 120, 3600, 3660))
    _, readings = taken(text)
    assert [s.t_s for s in readings.samples] == [0, 60, 120, 3600, 3660]


def test_a_row_that_came_late_is_put_in_place():
    times = [0, 60, 180, 120, 240, 300, 360, 420, 480, 540, *range(600, 9000, 60)]
    _, readings = taken("s,T °C\n" + "".join(f"{t},{20 + t / 60:.1f}\n" for t in times))
    assert readings.samples[2] == Sample(120.0, 22.0)
    assert readings.notes == ("1 row stood out of order and was put in place.",)


def test_of_two_probes_the_one_that_rises_further_is_taken_and_the_other_named():
    text = "s,TC1 °C,TC2 °C\n" + "".join(f"{60 * i},{20 + 4 * i},{20 + 5 * i}\n" for i in range(100))
    found, _ = taken(text)
    assert found.channel.name == "TC2 °C"
    assert any("TC1" in doubt for doubt in found.doubts)
    _, readings = taken(text, Corrections(temperature="TC1 °C"))
    assert readings.samples[-1].temp_c == 416


def test_temperatures_without_a_unit_are_told_in_both():
    found, _ = taken("s,T\n" + "".join(f"{60 * i},{68 + 10 * i}\n" for i in range(142)))
    assert found.unit == "F"
    assert any("803 °C. As °C it would be 1478 °C" in doubt for doubt in found.doubts)


def test_the_maker_has_the_last_word():
    text = "a,b,c\n" + "".join(f"{i},{20 + 5 * i},{30 + i}\n" for i in range(100))
    _, readings = taken(text, Corrections(time="1", time_form=TimeForm.MINUTES, temperature="c", unit="F"))
    assert readings.samples[1] == Sample(60.0, pytest.approx((31 - 32) * 5 / 9, abs=0.001))
    _, readings = taken("T °C;x\n" + "".join(f"{20 + 5 * (i % 9)};0\n" for i in range(50)), Corrections(every_s=30))
    assert [s.t_s for s in readings.samples[:3]] == [0, 30, 60]


@pytest.mark.parametrize(("text", "words"), [
    ("", "is empty"),
    ("\n \n", "is empty"),
    ("one column\n1\n2\n", "1 column"),
    ("name,colour\nplate,blue\nbowl,red\n", "no row of figures"),
    ("a,b\n" + "".join(f"{i % 3},{500 - i % 2}\n" for i in range(30)), "--time"),
    ("time,°C\n" + "2026-11-21 20:00,20\n" * 5 + "so so,21\n" * 5, "--time"),
    ("s,note\n" + "".join(f"{i},plate\n" for i in range(30)), "--temperature"),
])
def test_what_cannot_be_understood_is_refused_with_a_remedy(text, words):
    assert words in refusal(text)


@given(st.text(alphabet="0123456789,;:.-/ \t|\"\nTCFamp°", max_size=400))
def test_any_text_is_read_or_refused(text):
    with suppress(BadInput):
        _, readings = taken(text)
        assert readings.samples
        assert all(b.t_s > a.t_s for a, b in zip(readings.samples, readings.samples[1:], strict=False))
