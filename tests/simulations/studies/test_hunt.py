"""A hunt searches, stays within what the bench draws, and finds the same again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulations.__main__ import main
from simulations.generator import CLEAN, clean_case
from simulations.studies.badness import Badness
from simulations.studies.hunt import (
    Hunt,
    again,
    hunt,
    keep,
    mistakes,
    report,
    rows_for,
)
from simulations.studies.kept import changed, fingerprint, kept_named
from simulations.studies.study import kept_case

STORED_SHARE = 0.536  # of one second's deviation, in the median of five: order statistics


def weakness(case):
    """A fake watcher that is the worse, the noisier and the less wandering its probe is; worst at 1.0 and 0.1 K."""
    bad = case.noise_k * STORED_SHARE - case.wander_k
    return Badness((bad,), "noise", "told", is_bad=bad > 0.8)


@pytest.fixture(scope="module")
def found():
    """Return what a short hunt for the weakness comes to."""
    return hunt(weakness, (CLEAN,), Hunt(10, 40, seed=5))


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 5])
def test_the_search_finds_a_planted_weakness_that_as_many_draws_do_not(seed):
    found = hunt(weakness, (CLEAN,), Hunt(20, 150, seed=seed))
    only_drawn = hunt(weakness, (CLEAN,), Hunt(170, 0, seed=seed))
    # Of 0.9 at most. Two shares drawn at random come to 0.86 once in some 600 firings.
    assert found.worst[0].bad.weight[0] > 0.86 > only_drawn.worst[0].bad.weight[0]
    assert (found.drawn, found.stepped) == (20, 150)
    assert found.counted > 160


def test_a_change_that_is_no_worse_is_not_gone_on_from():
    seen = []

    def judge(case):
        seen.append(case)
        return Badness((float(len(seen) == 3),), "one", "told", is_bad=True)

    found = hunt(judge, (CLEAN,), Hunt(5, 10, seed=5))
    assert found.worst[0].case == seen[2]
    assert all(case.plan == seen[2].plan for case in seen[5:])


def test_each_mechanism_keeps_its_own_worst():
    def judge(case):
        return Badness((case.noise_k,), case.kind, "told", is_bad=True)

    found = hunt(judge, (CLEAN,), Hunt(20, 20, seed=5)).worst
    assert len({each.bad.mechanism for each in found}) == len(found) > 1
    assert [each.bad.weight for each in found] == sorted((each.bad.weight for each in found), reverse=True)


def test_what_does_not_count_is_never_found():
    found = hunt(lambda case: None if case.kind == "K" else weakness(case), (CLEAN,), Hunt(20, 20, seed=5))
    assert found.counted < 40
    assert all(each.case.kind != "K" for each in found.worst)


@pytest.mark.slow
def test_the_same_seed_finds_the_same_and_another_another():
    one, two = (hunt(weakness, (CLEAN,), Hunt(5, 30, seed=5)) for _ in range(2))
    assert one == two
    assert hunt(weakness, (CLEAN,), Hunt(5, 30, seed=6)).worst != one.worst


def test_time_ends_a_hunt_before_the_next_firing_and_the_report_says_so():
    left = iter([False] * 7 + [True] * 9)
    found = hunt(weakness, (CLEAN,), Hunt(5, 30, seed=5), lambda: next(left))
    assert (found.drawn, found.stepped) == (5, 2)
    text = "\n".join(report(found, "wakes", 5, 30, 5))
    assert "Time was up" in text
    assert "--draws 5 --steps 2" in text


def test_faults_that_need_not_wake_are_not_drawn():
    rows = rows_for("silence")
    assert "power-gone" in rows
    assert "anneal-warm" not in rows


def test_what_was_kept_is_built_again_from_the_file_alone(tmp_path, found):
    path = tmp_path / "hunted.toml"
    (name,) = keep(found, "wakes", 5, 3, path)
    assert name == "hunted-wakes-5-1"
    kept = kept_named(name, path)
    assert kept_case(kept) == found.worst[0].case.named(name)
    assert kept.drawn == fingerprint(clean_case(int(kept.start.removeprefix("clean-"))))
    start = clean_case(int(kept.start.removeprefix("clean-")))
    assert changed(start, kept.changes) == replace(found.worst[0].case, name=start.name)


def test_what_is_no_mistake_is_not_kept(tmp_path):
    found = hunt(lambda case: replace(weakness(case), is_bad=False), (CLEAN,), Hunt(3, 3, seed=5))
    assert mistakes(found) == []
    assert keep(found, "wakes", 5, 3, tmp_path / "hunted.toml") == ()
    assert "No mistake was found." in report(found, "wakes", 3, 3, 5)


def test_a_second_hunt_of_the_same_seed_replaces_its_own_only(tmp_path, found):
    path = tmp_path / "hunted.toml"
    for aim, seed in (("wakes", 5), ("silence", 5), ("wakes", 6), ("wakes", 5)):
        keep(found, aim, seed, 1, path)
    assert [line.partition(" = ")[2] for line in path.read_text(encoding="utf-8").splitlines()
            if line.startswith("name")] == ['"hunted-silence-5-1"', '"hunted-wakes-6-1"', '"hunted-wakes-5-1"']


def test_again_says_of_each_whether_it_is_still_wrong(tmp_path, monkeypatch, found):
    path = tmp_path / "hunted.toml"
    keep(found, "wakes", 5, 1, path)
    for judge, wanted in (
        (weakness, "STILL   told"), (lambda case: replace(weakness(case), is_bad=False), "MENDED  told"),
        (lambda case: None, "MENDED  no longer counts"),
    ):
        monkeypatch.setitem(hunt.__globals__["AIMS"], "wakes", judge)
        (line,) = again(path)
        assert wanted in line
        assert "otherwise" not in line
    path.write_text(path.read_text(encoding="utf-8").replace('drawn = "', 'drawn = "x'), encoding="utf-8")
    assert "draws" in again(path)[0]
    assert again(tmp_path / "none.toml") == ["No firing is kept."]


@pytest.mark.parametrize("wrong", [["--draws", "0"], ["--minutes", "nan"], ["--minutes", "-1"]])
def test_a_hunt_without_a_firing_or_a_minute_is_refused(wrong, capsys):
    assert main(["hunt", *wrong]) == 2
    assert f"{wrong[0]}: {wrong[1]} is not above 0. Write a larger number." in capsys.readouterr().err


def test_the_command_prints_how_to_hunt_the_same_again(monkeypatch, capsys):
    monkeypatch.setitem(hunt.__globals__["AIMS"], "wakes", weakness)
    assert main(["hunt", "--draws", "4", "--steps", "3", "--seed", "5"]) == 0
    assert capsys.readouterr().out.endswith(
        "The same hunt: python -m simulations hunt --for wakes --seed 5 --draws 4 --steps 3\n")
