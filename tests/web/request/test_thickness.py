"""Thicknesses as makers write them, read and said again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from web.request.thickness import read_mm, thickness_figure, thickness_short, thickness_words


@pytest.mark.parametrize(("text", "unit", "mm"), [
    ("6", "mm", 6.0), ("6 mm", "inch", 6.0), ("6,5", "mm", 6.5), ("0.6 cm", "mm", 6.0), ('1/4"', "mm", 6.35),
    ("1/4", "mm", 6.35), ("1/4 in", "mm", 6.35), ("1/4″", "mm", 6.35), ("3/8 inch", "mm", 9.525),
    ("1 1/2\"", "mm", 38.1), ("1-1/2 in.", "inch", 38.1),
    (".25", "inch", 6.35), ("0.25", "inch", 6.35), ("1", "inch", 25.4), ("1''", "mm", 25.4),
])
def test_what_makers_write(text, unit, mm):
    # 25.4 mm are an inch, exactly (international yard and pound agreement, 1959).
    assert read_mm(text, unit) == pytest.approx(mm)


@pytest.mark.parametrize("text", ["", "thick", "1/0", "6 feet", "nan", "1e999", "1/4/2", "6 mm thick", "½"])
def test_what_is_no_thickness(text):
    assert read_mm(text, "mm") is None


@pytest.mark.parametrize(("mm", "unit", "words"), [
    (6.0, "mm", "6 mm"), (38.1, "inch", '1 1/2" (38.1 mm)'), (25.4, "inch", '1" (25.4 mm)'), (6.0, "inch", "6 mm"),
    (12.7, "inch", '1/2" (12.7 mm)'), (9.525, "inch", '3/8" (9.5 mm)'),
])
def test_what_is_said(mm, unit, words):
    assert thickness_short(mm, unit).replace("\u00a0", " ") == words.split(" (")[0]
    assert thickness_words(mm, unit).replace("\u00a0", " ") == words


@given(st.integers(1, 96), st.sampled_from(["mm", "inch"]))
def test_sixteenths_of_an_inch_survive_the_form(sixteenths, unit):
    mm = sixteenths / 16 * 25.4
    assert read_mm(thickness_figure(mm, "inch"), unit) == pytest.approx(mm)


@given(st.integers(5, 1500), st.sampled_from(["mm", "inch"]))
def test_a_form_that_is_saved_unchanged_changes_nothing(tenths, unit):
    mm = tenths / 10
    assert read_mm(thickness_figure(mm, unit), unit) == pytest.approx(mm, abs=0.11)
    if unit == "mm":
        assert read_mm(thickness_figure(mm, unit), unit) == pytest.approx(mm)


@given(st.text(max_size=20))
def test_any_text_is_a_thickness_or_none(text):
    found = read_mm(text, "inch")
    assert found is None or abs(found) < 1e6
