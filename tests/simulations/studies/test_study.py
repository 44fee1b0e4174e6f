"""Firings of a study by name: another seed, other firings."""

from __future__ import annotations

import pytest

from daemon.errors import BadInput
from simulations.studies.study import Study, case_named, rows_of


def test_the_same_name_gives_the_same_firing():
    once, again = case_named("cooling-1.6-3").fire(), case_named("cooling-1.6-3").fire()
    assert once.samples == again.samples
    assert once.truth == again.truth


def test_studies_of_other_seeds_share_no_firing():
    one, two = Study(50, 10, 100, 1).names(), Study(50, 10, 100, 2).names()
    assert len(set(one)) == len(one) == 160
    assert not set(one) & set(two)


def test_a_study_of_the_second_plant_names_its_own_rows_and_firings():
    rows = rows_of("second")
    names = Study(3, 2, len(rows), 1, rows, "second").names()
    assert len(set(names)) == len(names) == 5 + len(rows)
    assert {case_named(name).row for name in names} == {"clean", "harsh", *rows}
    assert all(name.startswith("second-") and case_named(name).name == name for name in names)


def test_an_unknown_firing_lists_the_known():
    with pytest.raises(BadInput, match=r"cooling-1\.3"):
        case_named("gremlin-3")
