"""Firings of a study by name: another seed, other firings."""

from __future__ import annotations

import pytest

from daemon.errors import BadInput
from simulations.studies.study import Study, case_named


def test_the_same_name_gives_the_same_firing():
    once, again = case_named("cooling-1.6-3").fire(), case_named("cooling-1.6-3").fire()
    assert once.samples == again.samples
    assert once.truth == again.truth


def test_studies_of_other_seeds_share_no_firing():
    one, two = Study(50, 10, 100, 1).names(), Study(50, 10, 100, 2).names()
    assert len(set(one)) == len(one) == 160
    assert not set(one) & set(two)


def test_an_unknown_firing_lists_the_known():
    with pytest.raises(BadInput, match=r"cooling-1\.3"):
        case_named("gremlin-3")
