"""A twin stands where the first stands, and neither moves the other."""

from __future__ import annotations

from copy import deepcopy
from random import Random

import pytest

from daemon.glass.load import Load
from daemon.glass.materials import FAMILIES
from daemon.glass.twin import twin_of


class Plain:
    def __init__(self, number: int) -> None:
        raise AssertionError("a twin is not made by its class")


def test_a_twin_has_the_same_values_without_being_made_anew_and_its_own_attributes() -> None:
    first = object.__new__(Plain)
    first.__dict__.update(number=3, parts=[1, 2])
    second = twin_of(first)
    assert type(second) is Plain
    assert second is not first
    assert second.parts is first.parts
    second.number = 4
    assert first.number == 3


@pytest.mark.parametrize("noise_k", [0.0, 0.3])
def test_figures_asked_for_at_any_time_are_those_of_a_load_copied_whole_and_change_nothing(noise_k: float) -> None:
    rng = Random(5)
    asked, silent = (Load(FAMILIES["90"], (6.0, 12.0), 1) for _ in range(2))
    for n in range(900):  # a climb to 600 °C, a fall through the range at 300 °C/h, and on
        temp_c = (600.0 - abs(600.0 - n * 2.0)) + rng.gauss(0.0, noise_k)
        for load in (asked, silent):
            load.offer(20.0 * n, temp_c)
        if n % 90 == 89:
            whole = deepcopy(asked)
            found, other = asked.figures(), whole.figures()
            assert found is not None
            assert other is not None
            assert (found.slabs, found.face_c) == (other.slabs, other.face_c)
    last, never_asked = asked.figures(), silent.figures()
    assert last is not None
    assert never_asked is not None
    assert last.slabs == never_asked.slabs
    assert last.slabs[0].maxwell_core_mpa != 0.0
