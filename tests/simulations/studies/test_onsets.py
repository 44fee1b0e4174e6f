"""The moment from which a delay counts, held against whole simulated firings."""

from __future__ import annotations

from simulations.cases import Expected
from simulations.studies.onsets import Course, onset_s
from simulations.studies.study import case_named


def test_a_restart_begins_where_the_kiln_climbs_again_and_is_none_where_it_only_holds_on():
    asked = Expected(("restarted",), "wake", "restart", onset="climbs-again")
    # In the only climb's own hold it holds a few minutes longer (20011); from a top it comes down to 670 °C, holds 70
    # minutes and climbs again at 848.5 min (20008).
    for name, again_min in (("restart-20011", None), ("restart-20008", 848.5)):
        case = case_named(name)
        began_s = onset_s(asked, Course(case, case.fire()))
        assert began_s is None if again_min is None else abs(began_s / 60 - again_min) < 3
