"""What two watchers made of a firing, held against what is right, and the page that says so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from benchmarks.mechanisms import wakes
from benchmarks.mechanisms.__main__ import main
from benchmarks.mechanisms.firings import MECHANISMS, NOT_SHOWN, firings
from benchmarks.mechanisms.page import Row, on_paper, page
from benchmarks.mechanisms.shown import Shown, in_words, listed, not_found, outcome
from benchmarks.mechanisms.watchers import ROOT, Found, Judged, Told, checked_out, judged_by, read
from daemon.firing.events import Sample
from simulations.cases import Case
from simulations.firing import Simulated
from simulations.plant.mishaps import Happened
from simulations.random_plans import on_paper as plan_of
from simulations.truth import TruePart, Truth

PLAN = plan_of("short", "300/800/10 top, free/516/60 anneal, 60/430")
CASE = Case("short", "test", PLAN)
PARTS = (TruePart(1, "ramp", 0, 9000), TruePart(1, "hold", 9000, 9600), TruePart(2, "ramp", 9600, 12000),
         TruePart(2, "hold", 12000, 15600))


def told(kind="firing-stopped", rank="wake", raised_s=9900.0, woke_s=10_020.0, under=None, what="", left_s=None):
    return Told(kind, rank, raised_s, woke_s if rank == "wake" else None, under, what, "", left_s)


def judged(*alerts, parts=(), answers=None):
    return Judged(alerts, parts, {}, answers or {})


def fired(*faults):
    truth = Truth(PARTS, faults, 0.0, (20.0, 800.0), (20.0, 800.0), (22.0, 806.0), (0.0, 9300.0))
    return Simulated([Sample(0.0, 20.0), Sample(9300.0, 806.0)], truth)


def shown(**more):
    return Shown(1, "a", CASE, "It falls.", "Wake nobody.", **more)


LOST = shown(fault="power-cut", must=("firing-stopped",))
CUT = Happened("power-cut", None, 9700.0, None)


def test_a_wake_that_nothing_asked_for_is_wrong_and_a_look_is_not():
    assert not outcome(shown(), judged(told()), fired()).is_right
    assert outcome(shown(), judged(told(rank="look")), fired()).is_right
    assert outcome(shown(), judged(told(under="sudden-drop")), fired()).is_right  # only a consequence


def test_what_must_be_told_counts_from_the_fault_and_by_its_rank():
    found = outcome(LOST, judged(told()), fired(CUT))
    assert (found.due_told_s, found.due_woke_s, found.is_right) == (200.0, 320.0, True)
    assert not outcome(LOST, judged(told(rank="look")), fired(CUT)).is_right
    assert outcome(replace(LOST, must_wake=False), judged(told(rank="look")), fired(CUT)).is_right
    assert not outcome(replace(LOST, within_s=300.0), judged(told()), fired(CUT)).is_right


def test_a_wake_before_the_fault_answers_nothing():
    found = outcome(LOST, judged(told(raised_s=9500.0, woke_s=9500.0)), fired(CUT))
    assert found.due_told_s is None
    assert len(found.false_wakes) == 1


def test_a_wake_under_another_name_is_false_unless_it_is_near():
    heard = judged(told(), told("sudden-drop"))
    assert not outcome(LOST, heard, fired(CUT)).is_right
    assert outcome(replace(LOST, near=("sudden-drop",)), heard, fired(CUT)).is_right


def test_a_hold_counts_as_found_within_ten_minutes():
    near = judged(parts=(Found(1, "hold", 9000.0, None), Found(2, "hold", 12_590.0, None)))
    assert not_found(PARTS, near) == ()
    far = judged(parts=(Found(1, "hold", 9000.0, None), Found(2, "hold", 12_700.0, None)))
    assert [part.step for part in not_found(PARTS, far)] == [2]
    assert not outcome(shown(looks_at="parts"), far, fired()).is_right


def test_a_praised_hold_that_nobody_saw_is_wrong():
    anneal = "Did it get its whole anneal hold?"
    assert not outcome(shown(looks_at="anneal"), judged(answers={anneal: "Yes."}), fired()).is_right
    assert outcome(shown(looks_at="anneal"), judged(answers={anneal: "Not known."}), fired()).is_right


def test_repeated_alerts_are_listed_once_with_their_number():
    drops = [told("sudden-drop", "look", 60.0 * n) for n in (9, 5, 7)]
    assert listed([*drops, told()]) == "look sudden-drop 0:05 and 2 more; **get up** firing-stopped 2:47."
    assert listed([]) == ""


def test_words_say_when_and_whether_it_woke():
    words = [in_words(LOST, heard, outcome(LOST, heard, fired(CUT)))
             for heard in (judged(told()), judged(told(rank="look")), judged())]
    assert words[0].endswith("Woke after 5 min.")
    assert words[1].endswith("Told after 3 min, **woke nobody.**")
    assert words[2] == "Told nothing. **Missed.**"


def test_the_page_counts_what_is_right_and_names_the_commits():
    rows = [Row(shown(), fired(), judged(told()), judged(told(rank="look")))]
    text = page(rows, {"before": "`abc`", "today": "`def`"}, "2026-11-29", "a command", "pictures")
    assert "Of 1 firings the older watcher judged 0 as is right, today's 1." in text
    assert "Wakes that nothing asked for: 1 before, 0 today." in text
    assert "- *today*: commit `def`" in text
    assert "300/800/10, free/516/60, 60/430" in text
    assert all(f"## {number}. {mechanism.title}" in text for number, mechanism in MECHANISMS.items())
    assert max(line.count("|") for line in text.splitlines()) == 6


def test_a_plan_is_written_as_on_paper():
    assert on_paper(PLAN) == "300/800/10, free/516/60, 60/430"


def test_every_mechanism_is_shown_or_said_not_to_be():
    own = firings()
    assert {one.mechanism for one in own} | set(NOT_SHOWN) == set(MECHANISMS)
    assert len({one.name for one in own}) == len(own)
    for one in own:
        assert bool(one.must) == bool(one.fault)
        assert not one.fault or any(fault.startswith(one.fault) for fault in one.case.faults)


def test_the_json_of_a_replay_is_read_without_what_is_only_noted():
    alert = {"kind": "haze-range", "rank": "log", "raised_s": 1.0, "woke_s": None, "under": None,
             "text": {"what": "a", "meaning": "b", "time_left_s": None}}
    found = read({"alerts": [alert, {**alert, "rank": "look"}], "glass": None,
                  "parts": [{"step": 1, "part": "ramp", "start_s": 0.0, "end_s": None}],
                  "verdict": [{"question": "Well?", "answer": "Yes."}]})
    assert [one.rank for one in found.told] == ["look"]
    assert (found.parts, found.answers) == ((Found(1, "ramp", 0.0, None),), {"Well?": "Yes."})


def test_an_argument_is_refused_where_the_watcher_does_otherwise():
    one = wakes.argued()[1]
    assert wakes.first_told(one, judged(told(one.kind))).woke
    with pytest.raises(ValueError, match="argued as a wake"):
        wakes.first_told(one, judged(told(one.kind, "look")))
    with pytest.raises(ValueError, match="not told"):
        wakes.first_told(one, judged())


def test_each_argument_names_only_figures_that_are_measured():
    one = wakes.argued()[0]
    case = Case("short", "test", PLAN)
    what = "Cooling too fast, 64 °C/h, planned 22 °C/h. The kiln is at 498 °C."
    alert = replace(told(one.kind, "look", 9300.0, what=what, left_s=3336.0),
                    meaning="about 0.3 to 1.3 MPa (as planned: 0.1 to 0.4 MPa). Up to 1 MPa is well annealed.")
    stayed = {"Did little enough stress stay in it?": "Yes, about 0.1 to 0.2 MPa."}
    figures = wakes.figures(replace(one, case=case, step=1), fired(), judged(alert, answers=stayed))
    assert (figures["rate"], figures["planned_rate"], figures["time_left"]) == ("64 °C/h", "22 °C/h", "56 min")
    assert (figures["stress_if"], figures["stress_planned"], figures["stress"]) == (
        "0.3 to 1.3", "0.1 to 0.4", "0.1 to 0.2")
    assert (figures["now_c"], figures["held_min"], figures["left_min"]) == ("806", "5 min", "5 min")
    for argued in wakes.argued():
        assert argued.why.format(**figures)
    assert [argued.is_kept for argued in wakes.argued()] == [False, True] * 3


def test_the_page_of_one_mechanism_does_not_overwrite_that_of_all(tmp_path, capsys):
    with pytest.raises(SystemExit):
        main(["--only", "4", str(tmp_path)])
    assert "Give no FOLDER" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow  # two other processes
def test_a_commit_is_judged_from_its_own_files(tmp_path):
    if not (ROOT / ".git").exists():
        pytest.skip("not a git clone")
    files = checked_out("HEAD", made(tmp_path / "files"))
    assert (files / "daemon" / "cli.py").exists()
    samples = [Sample(5.0 * n, 20.0 + 0.4 * n) for n in range(40)]
    found = judged_by(files, CASE, samples, made(tmp_path / "own"))
    assert found.told == ()
    assert found.answers
    (files / "daemon" / "cli.py").write_text("raise SystemExit('these files ran')\n", encoding="utf-8")
    with pytest.raises(RuntimeError, match="these files ran"):
        judged_by(files, CASE, samples, made(tmp_path / "again"))


def made(folder: Path) -> Path:
    folder.mkdir()
    return folder
