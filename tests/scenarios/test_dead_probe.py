"""A probe that dies reads a plausible room, and must never be taken for a cold kiln or a shut lid."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.report import judge

MIN = 60.0


@pytest.mark.parametrize(("step", "part", "after_s"), [(4, "ramp", 900.0), (3, "ramp", 900.0), (4, "hold", 900.0)])
def test_a_probe_that_dies_wakes_says_so_and_stands(fired, step, part, after_s):
    night = fired("full-fuse-6mm")
    at_s = night.part(step, part).start_s + after_s
    dead = [s if s.t_s < at_s else s._replace(temp_c=21.5, low_c=None, high_c=None) for s in night.samples
            if s.t_s < at_s + 3 * 3600]
    (told,) = [a for a in judge(night.setup, dead).alerts if a.kind == "sudden-drop"]
    assert told.rank is Rank.WAKE
    assert 0.0 < told.woke_s - at_s <= 3 * MIN
    assert told.cleared_s is None
    assert told.text.what.startswith("The probe leapt from ")
    assert "the kiln's own display" in told.text.do


def test_zeros_among_the_readings_are_told_as_blindness_and_never_as_a_cold_kiln(fired):
    night = fired("full-fuse-6mm")
    hot_s = night.part(4, "hold").start_s
    coded = [s if s.t_s < hot_s or int(s.t_s) // 5 % 4 else s._replace(temp_c=0.0, low_c=None, high_c=None)
             for s in night.samples]
    found, as_it_was = judge(night.setup, coded), judge(night.setup, night.samples)
    assert [(p.step, p.part) for p in found.parts] == [(p.step, p.part) for p in as_it_was.parts]
    wakes = {a.kind for a in found.alerts if a.rank is Rank.WAKE}
    assert wakes <= {"reading-flickers", "sensor-fault", "readings-missing"}

    zero_for_good = [s if s.t_s < hot_s else s._replace(temp_c=0.0, low_c=None, high_c=None) for s in night.samples
                     if s.t_s < hot_s + 3600]
    (told,) = [a for a in judge(night.setup, zero_for_good).alerts if a.rank is Rank.WAKE]
    assert told.kind == "readings-missing"
    assert told.woke_s - hot_s <= 5 * MIN
