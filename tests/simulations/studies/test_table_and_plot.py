"""A study's figures as a table and a plot."""

from __future__ import annotations

from datetime import date

from simulations.studies.scoring import Score, score
from simulations.studies.study import case_named
from simulations.studies.summary import missed, quiet
from simulations.studies.table_and_plot import document, plot


def test_a_study_makes_a_table_and_a_plot():
    scores = [score(case_named(name)) for name in ("open-cold-1", "clean-19")]
    text = "\n".join(document(scores, date(2026, 11, 25), "a command"))
    assert "| open-cold | sensor-fault | look | 1 | 100 |" in text
    assert "| clean | 1 |" in text
    assert plot(scores).startswith("<svg")
    assert "open-cold" in plot(scores)
    assert quiet("clean", scores[1:]).boundaries == scores[1].boundaries > 4
    assert missed(scores) == []


def test_wakes_and_looks_of_quiet_firings_are_sorted_by_what_went_on():
    scores = [Score("clean-1", "clean", (), True, (("restarted", 60.0),), (("sudden-drop", 30.0),) * 2, 6, 6, 6, 0, 0,
                    0.1, 0.1, 5000, ("climb",), ("vent or look",) * 2),
              Score("clean-2", "clean", (), False, (), (("sudden-drop", 30.0),), 6, 6, 6, 0, 0, 0.1, 0.1, 5000, (),
                    ("vent or look",))]
    lines = list(document(scores, date(2026, 11, 25), "a command"))
    assert "| climb | 1 | 1 | restarted 1 | `clean-1` |" in lines
    assert "| vent or look | 2 | 1 | sudden-drop 2 | `clean-1` |" in lines, "one that was not run is left out"
