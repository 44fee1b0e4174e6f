"""What ``python -m simulations`` says of options it can't use, and of one firing that it runs again."""

from __future__ import annotations

import pytest

from simulations.__main__ import answered, main
from simulations.studies.scoring import Answer

NOTHING = ("--clean", "0", "--harsh", "0", "--faulty", "0")
ONE = ("--clean", "1", "--harsh", "0", "--faulty", "0")


@pytest.mark.parametrize(("arguments", "said"), [
    (("study", "--clean", "-4"), "--clean: -4 is below 0. Write a whole number, 0 or more."),
    (("study", "--harsh", "-1"), "--harsh: -1 is below 0. Write a whole number, 0 or more."),
    (("study", "--faulty", "-3"), "--faulty: -3 is below 0. Write a whole number, 0 or more."),
    (("study", *NOTHING), "--clean, --harsh, --faulty: 0 firings in all, so there is nothing to study. "
                          "Write a number above 0 for one of them, such as --clean 20."),
    (("study", *ONE, "--seed", "-5"), "--seed: -5 is below 0. Write a whole number, 0 or more."),
    (("study", *ONE, "--plant", "glow", "--seed", "-5"), "--seed: -5 is below 0. Write a whole number, 0 or more."),
    (("study", *ONE, "--jobs", "-1"), "--jobs: -1 processes can't work. Write 1 or more, or leave it out for all "
                                      "cores."),
    (("study", *ONE, "--jobs", "0"), "--jobs: 0 processes can't work. Write 1 or more, or leave it out for all "
                                     "cores."),
    (("energy", "--kilns", "0"), "--kilns: 0 is below 1. Write a whole number, 1 or more."),
    (("energy", "--seed", "-1"), "--seed: -1 is below 0. Write a whole number, 0 or more."),
    (("energy", "--jobs", "-1"), "--jobs: -1 processes can't work. Write 1 or more, or leave it out for all cores."),
    (("hunt", "--seed", "-1"), "--seed: -1 is below 0. Write a whole number, 0 or more."),
    (("hunt", "--steps", "-1"), "--steps: -1 is below 0. Write a whole number, 0 or more."),
    (("hunt", "--keep", "-1"), "--keep: -1 is below 0. Write a whole number, 0 or more."),
])
def test_a_number_that_can_not_be_used_is_named_with_its_option_and_a_remedy(monkeypatch, capsys, arguments, said):
    for work in ("study.run", "study.each", "hunt.hunt_for"):
        monkeypatch.setattr(f"simulations.studies.{work}", lambda *given: pytest.fail("it began to work"))
    assert main(list(arguments)) == 2
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", said + "\n")


@pytest.mark.parametrize("name", ["", "gremlin-3"])
def test_a_firing_that_there_is_not_is_quoted_with_a_remedy(capsys, name):
    assert main(["case", name]) == 2
    told, remedy = capsys.readouterr().err, "Write a row and a seed, such as clean-1000017. Known:"
    assert told.startswith(f"'{name}': is no firing of the bench. {remedy}")


@pytest.mark.parametrize(("raised_min", "woke_min", "named", "said"), [
    (15.583333333333334, None, "hold-off-target", "got hold-off-target, told after 15.6 min, did not wake"),
    (4.0, 31.96, "hold-cut-short", "got hold-cut-short, told after 4.0 min, woke after 32.0 min"),
    (None, None, None, "nothing told, did not wake"),
])
def test_what_was_asked_and_told_of_a_firing_is_one_line_to_a_tenth_of_a_minute(raised_min, woke_min, named, said):
    answer = Answer(("hold-off-target", "not-cooling"), "wake", raised_min, woke_min, named, False, False, None)
    assert answered(answer) == f"asked: hold-off-target or not-cooling, wake; {said}"
