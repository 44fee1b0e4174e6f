"""A trace is read to the last digit, or refused with its row, the value and what to write."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.files import read_text
from daemon.firing.events import FAULTS, Sample
from daemon.firing.trace.csv_trace import COLDEST_C, HOTTEST_C, gaps, read_trace, usual_interval_s, write_trace

HEADER = "seconds,celsius,fault\n"


def read(text: str) -> list[Sample] | str:
    """Return the samples, or the message that refuses them."""
    try:
        return read_trace(text.splitlines(), "night.csv").samples
    except BadInput as refused:
        return refused.text


def refusal(text: str) -> str:
    told = read(text)
    assert isinstance(told, str), "this trace should have been refused"
    assert told.startswith("night.csv")
    assert "\n" not in told
    return told


def test_rows_become_samples():
    assert read(HEADER + "0,20.5,\n5,,open\n10,21,\n") == [
        Sample(0.0, 20.5), Sample(5.0, None, "open"), Sample(10.0, 21.0)]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_never_a_temperature(fault):
    assert read(f"{HEADER}0,20.5,{fault}\n") == [Sample(0.0, None, fault)]
    assert read(f"{HEADER}0,,{fault.upper()} \n") == [Sample(0.0, None, fault)]


def test_no_temperature_and_no_word_for_it_is_silence():
    assert read(HEADER + "0,,\n") == [Sample(0.0, None, "silent")]
    assert read("seconds,celsius\n0,\n") == [Sample(0.0, None, "silent")]


def test_columns_are_found_by_name_and_others_left_alone():
    text = "Fault, CELSIUS ,note,seconds\n,20.5,\"door, shut\",0\nopen,,,5\n"
    assert read(text) == [Sample(0.0, 20.5), Sample(5.0, None, "open")]


def test_fields_may_be_quoted_and_lines_end_as_rfc_4180_has_them():
    assert read('"seconds","celsius","fault"\r\n"0","20.5",""\r\n') == [Sample(0.0, 20.5)]


def test_empty_lines_say_nothing():
    assert read(HEADER + "\n0,20.5,\n \n,,\n5,21,\n\n") == [Sample(0.0, 20.5), Sample(5.0, 21.0)]


def test_the_first_row_of_one_second_counts_and_another_temperature_in_it_is_not_lost_in_silence():
    found = read_trace((HEADER + "0,20,\n0,99,\n0,20,\n5,21,\n5,21,\n").splitlines(), "night.csv")
    assert found.samples == [Sample(0.0, 20.0), Sample(5.0, 21.0)]
    assert found.contradictions == 2  # 99 after 20, 20 after 99; 21 twice is no contradiction


def test_seconds_from_1970_are_counted_from_the_first_row():
    # GNU date: date -u -d @1764060000 says Tue Nov 25 08:40:00 2025.
    found = read_trace((HEADER + "1764060000,20,\n1764060005,21,\n").splitlines(), "night.csv")
    assert found.samples == [Sample(0.0, 20.0), Sample(5.0, 21.0)]
    assert found.from_1970_s == 1764060000.0


def test_a_probe_with_its_leads_reversed_reads_far_below_the_room_and_is_read_back():
    assert read(HEADER + "0,-60.6,\n5,-199.9,\n") == [Sample(0.0, -60.6), Sample(5.0, -199.9)]


@pytest.mark.parametrize("mark", [";", "\t", "|"])
def test_for_a_file_of_another_shape_the_command_that_reads_it_is_named(mark):
    told = refusal(HEADER.replace(",", mark) + f"0{mark}20{mark}\n")
    assert told.endswith("The file of another logger is turned into such rows by: lehrling trace convert.")


def test_seconds_may_begin_before_the_start_press_and_be_broken():
    assert read(HEADER + "-1200,20,\n-1199.5,20,\n") == [Sample(-1200.0, 20.0), Sample(-1199.5, 20.0)]


@pytest.mark.parametrize(("rows", "row", "value", "remedy"), [
    ("0,20,\nten,20,\n", 3, "seconds 'ten' is not a number", "without a unit"),
    ("0,20 C,\n", 2, "celsius '20 C' is not a number", "without a unit"),
    ("0,hot,\n", 2, "celsius 'hot' is not a number", "leave it empty"),
    ("0,nan,\n", 2, "celsius 'nan' is not a number", "leave it empty where there is no reading"),
    ("0,NaN,\n", 2, "celsius 'NaN' is not a number", "leave it empty where there is no reading"),
    ("0,inf,\n", 2, "celsius 'inf' is not a number", "leave it empty"),
    ("nan,20,\n", 2, "seconds 'nan' is not a number", "Write a number"),
    (",20,\n", 2, "seconds '' is not a number", "Write a number"),
    ("1e999,20,\n", 2, "seconds '1e999' is not a number", "Write a number"),
    ("0,2_0,\n", 2, "celsius '2_0' is not a number", "Write a number"),
    ("0,٢٠,\n", 2, "celsius '٢٠' is not a number", "Write a number"),
    ('0,"20,5",\n', 2, "celsius '20,5' is not a number", "a point for decimals"),
    ("0,20,\n10,20,\n5,20,\n", 4, "seconds goes back from 10 to 5", "Sort the rows"),
    ("1764060000000,20,\n", 2, "1.76406e+12", "seconds, not milliseconds"),
    ("0,3000,\n", 2, "celsius 3000 is outside -270 to 1800 °C", "unit"),
    ("0,-273.15,\n", 2, "celsius -273.15 is outside", "unit"),
    ("0,20,broken\n", 2, "fault 'broken' is unknown", "open, short, range, silent, or empty"),
    ("0\n", 2, "has 1 of 3 columns", "seconds,celsius,fault"),
    ("0,20,5,\n", 2, "fault '5' is unknown", "Known"),
    ("0,20,,5\n", 2, "has 4 columns, the first row 3", "point"),
    ("0," + "9" * 200_000 + ",\n", 2, "field larger", "first row"),
])
def test_a_wrong_row_is_named_with_its_value_and_the_remedy(rows, row, value, remedy):
    told = refusal(HEADER + rows)
    assert told.startswith(f"night.csv, row {row}: ")
    assert value in told
    assert remedy in told
    assert len(told) < 400


def test_a_decimal_comma_is_not_cut_off():
    # Without a column for faults the second half of 514,2 would be nobody's.
    told = refusal("seconds,celsius\n0,514,2\n")
    assert "row 2: has 3 columns, the first row 2" in told
    assert "a point" in told


@pytest.mark.parametrize("text", [
    "", "\n", "0,20,\n5,21,\n", "seconds;celsius;fault\n0;20;\n", "time,temp\n0,20\n", "seconds,fault\n0,\n",
    "title = 'Full fuse'\nunit = 'C'\n", "x" * 100_000,
])
def test_what_has_no_header_is_told_which_one_to_write(text):
    told = refusal(text)
    assert told.startswith("night.csv, row 1: the columns are ")
    assert "The first row must name the columns: seconds,celsius,fault." in told
    assert len(told) < 300


def test_a_header_alone_is_no_trace():
    assert "has no readings. Give a trace with at least one row" in refusal(HEADER)
    assert "has no readings" in refusal(HEADER + "\n,,\n")


# --- files ---------------------------------------------------------------------------------------


def test_a_byte_order_mark_is_taken(tmp_path):
    file = tmp_path / "night.csv"
    file.write_bytes((HEADER + "0,20,\n").encode("utf-8-sig"))
    assert read_trace(read_text(str(file), what="trace").splitlines(), "night.csv").samples == [Sample(0.0, 20.0)]


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1", "cp1252"])
def test_another_encoding_is_refused_with_its_row(tmp_path, encoding):
    file = tmp_path / "night.csv"
    file.write_bytes(("seconds,celsius,fault,note\n0,20,,50 °C\n").encode(encoding))
    with pytest.raises(BadInput, match=r"row \d+: holds a byte that is not UTF-8 \(0x[0-9a-f]{2}\)\. Save it as"):
        read_text(str(file), what="trace")


# --- writing -------------------------------------------------------------------------------------

TEMPS = st.floats(COLDEST_C, HOTTEST_C) | st.integers(int(COLDEST_C * 128), int(HOTTEST_C * 128)).map(
    lambda n: n / 128)
TRACES = st.lists(
    st.tuples(st.floats(-1e6, 2e8) | st.integers(-1200, 400_000).map(float), TEMPS,
              st.none() | st.sampled_from(FAULTS)),
    min_size=1, max_size=30, unique_by=lambda row: row[0],
).map(lambda rows: [Sample(t, None if fault else c, fault) for t, c, fault in sorted(rows, key=lambda row: row[0])])


@given(TRACES)
def test_a_trace_written_is_the_trace_read(samples):
    assert read("".join(write_trace(samples))) == samples


def test_a_chips_finest_step_is_kept_at_any_heat():
    # 1/128 °C has seven decimals; at 1300 °C that makes eleven figures.
    hot = [Sample(5.0, 1300 + 1 / 128), Sample(1_764_060_005.5, 20.0)]
    assert read("".join(write_trace(hot))) == hot


def test_another_reader_reads_the_same():
    rows = list(csv.DictReader(io.StringIO("".join(write_trace([Sample(0.0, 20.5), Sample(5.0, None, "open")])))))
    assert [tuple(row.values()) for row in rows] == [("0", "20.5", ""), ("5", "", "open")]


@given(st.text(max_size=300))
def test_no_text_gives_a_traceback(text):
    assert read(text)


@given(st.lists(st.text("0123456789.,-;eE\"' naif\n\t", max_size=20), max_size=10))
def test_no_rows_give_a_traceback(rows):
    found = read(HEADER + "\n".join(rows))
    if not isinstance(found, str):
        times = [sample.t_s for sample in found]
        assert times == sorted(set(times))
        assert all(sample.temp_c is None or COLDEST_C <= sample.temp_c <= HOTTEST_C for sample in found)


# --- gaps ----------------------------------------------------------------------------------------


def at(*times: float) -> list[Sample]:
    return [Sample(t, 20.0) for t in times]


def test_a_gap_is_more_than_three_times_the_usual_interval():
    samples = at(0, 5, 10, 15, 20, 35, 40, 45, 50.1, 65.2, 70)
    assert usual_interval_s(samples) == 5.0
    assert gaps(samples) == [(50.1, 65.2)]  # 15 s is three times, 15.1 s is more


def test_a_slow_logger_has_no_gaps_for_being_slow():
    assert gaps(at(*range(0, 3600, 60))) == []
    assert gaps([*at(0, 60, 120), *at(400, 460, 520)]) == [(120, 400)]


def test_blind_rows_are_faults_and_no_gap():
    samples = [Sample(5.0 * n, None if 10 < n < 50 else 20.0, "open" if 10 < n < 50 else None) for n in range(60)]
    assert gaps(samples) == []


def test_one_row_has_no_gap():
    assert gaps(at(3)) == []
    assert usual_interval_s(at(3)) == 5.0
