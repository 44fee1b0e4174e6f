"""Whatever is said of a file, and whatever it holds: readings, or a sentence."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.foreign_traces.corrected import DATES, DECIMALS, DELIMITERS, FORMS, UNITS, understood

LOG = (Path(__file__).parents[3] / "examples/traces/other-logger.csv").read_bytes()
WORDS = st.one_of(st.text(max_size=12), st.sampled_from(
    [*DELIMITERS, *DECIMALS, *DATES, *FORMS, *UNITS, "1", "1+2", "3", "9", "Europe/Berlin", "60", "1e9", "nan"]))


@settings(max_examples=60, deadline=None)
@given(asked=st.dictionaries(st.sampled_from(
    ["delimiter", "decimal", "time", "time_form", "dates", "zone", "every_s", "temperature", "unit"]), WORDS),
    end=st.binary(max_size=60), keep=st.integers(0, 2000))
def test_no_file_and_no_word_ends_otherwise(asked, end, keep):
    try:
        found, readings = understood(LOG[:keep] + end, "log.csv", asked)
    except BadInput:
        return
    else:
        assert found.channel.at < len(found.table.names)
        assert all(one.t_s < other.t_s for one, other in zip(readings.samples, readings.samples[1:], strict=False))


def test_what_is_said_stands_and_the_rest_is_guessed():
    found, readings = understood(LOG, "log.csv", {"temperature": "4", "zone": "Europe/Berlin", "unit": ""})
    assert (found.channel.at, found.unit, str(found.zone)) == (3, "F", "Europe/Berlin")
    assert readings.began.isoformat() == "2026-02-14T18:40:00+00:00"


def test_a_unit_that_is_said_against_the_columns_name_is_doubtful():
    kiln = b"time;Ofen \xc2\xb0F\n" + b"".join(b"%d;%d\n" % (60 * n, 70 + 20 * n) for n in range(50))
    doubts = {unit: " ".join(understood(kiln, "log.csv", {"unit": unit})[0].doubts) for unit in ("C", "F", "")}
    assert "names °F. It is read as °C" in doubts["C"]
    assert "names °F" not in doubts["F"] + doubts[""]


def test_a_word_that_is_not_known_is_named():
    with pytest.raises(BadInput, match=r"--time-form weeks: is not known. Write one of seconds, minutes"):
        understood(LOG, "log.csv", {"time_form": "weeks"})
