"""The command line says what is wrong in a sentence and keeps what the maker has."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from daemon.cli import main
from daemon.commands.load_options import load_plan

PLANS = Path(__file__).parents[2] / "examples" / "plans"
PLAN = str(PLANS / "slump-6mm.toml")
RUN = "import sys; from daemon.cli import main; sys.exit(main())"
ROWS = "seconds,celsius,fault\n" + "".join(f"{5 * n},{20 + n / 12:.2f},\n" for n in range(60))


@pytest.fixture
def trace(tmp_path):
    path = tmp_path / "good.csv"
    path.write_text(ROWS)
    return path


@pytest.mark.parametrize("words", [["plan", "check", PLAN], ["replay", "TRACE", "--json"], ["replay", "TRACE"]])
def test_a_full_disk_is_told_in_one_sentence(trace, words):
    given = [str(trace) if word == "TRACE" else word for word in words]
    with open("/dev/full", "w") as full:
        ran = subprocess.run([sys.executable, "-c", RUN, *given], stdout=full, stderr=subprocess.PIPE, text=True,
                             timeout=60, check=False)
    assert ran.stderr == ("lehrling: the output can't be written: No space left on device. "
                          "Make room, or send it elsewhere.\n")
    assert ran.returncode == 2


def refused(capsys, *words):
    assert main(words) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    return printed.err


def test_an_output_never_takes_the_place_of_what_was_given(capsys, tmp_path, trace):
    plan = tmp_path / "plan.toml"
    plan.write_text(Path(PLAN).read_text(encoding="utf-8"), encoding="utf-8")
    for words in (["replay", str(trace), "--report", str(trace)],
                  ["rehearse", str(plan), "--svg", str(plan)],
                  ["rehearse", str(plan), "--trace", str(plan)],
                  ["anneal", "--plan", str(trace)],
                  ["anneal", "--plan", str(plan)]):
        assert f"{words[-1]}: holds something else and is left as it is." in refused(capsys, *words)
    assert trace.read_text() == ROWS
    assert plan.read_bytes() == Path(PLAN).read_bytes()


def test_what_a_command_wrote_itself_it_may_write_anew(capsys, tmp_path, trace):
    for words in (["replay", str(trace), "--report", str(tmp_path / "night.html")],
                  ["anneal", "--plan", str(tmp_path / "anneal.toml")]):
        assert [main(words), main(words)] == [0, 0]


def test_a_trace_with_a_year_between_two_rows_is_refused_before_it_is_judged(capsys, tmp_path):
    path = tmp_path / "two.csv"
    path.write_text("seconds,celsius,fault\n0,20,\n60,22,\n31536000,21,\n")
    assert "comes 364 days 23 h after the row before it" in refused(capsys, "replay", str(path))


def test_a_trace_in_other_units_is_hinted_at(capsys, tmp_path):
    path = tmp_path / "minutes.csv"
    path.write_text("seconds,celsius,fault\n" + "".join(f"{n / 12:.4f},{20 + 0.3 * n:.2f},\n" for n in range(2000)))
    main(["replay", str(path)])
    assert "Bear in mind: It climbs 600 °C in 167 s, faster than a kiln can. Perhaps the seconds are minutes" in \
        capsys.readouterr().out


@pytest.mark.parametrize(("words", "told"), [
    (["rehearse", PLAN, "--seed", "1.5"], "--seed: '1.5' can't be used. Write a whole number from 0 to 2147483647."),
    (["rehearse", PLAN, "--seed", "9999999999"], "Write a whole number from 0 to 2147483647."),
    (["anneal", "--thickness-mm", "200", "--uneven"], "--thickness-mm: 200 mm is outside 0.5 to 150 mm."),
    (["anneal", "--thickness-mm", "12,5"],
     '--thickness-mm: 12,5 may be one figure or two. Write 12.5 for one, or "12 5", with a blank'),
    (["anneal", "--thickness-mm", "6,35"], "Write 6.35 for one"),
    (["replay", "t.csv", "--other", "p.toml"], "--other: is compared with the plan it was fired by"),
    (["anneal", "--thickness-mm", "1000000"], "1000000 mm is outside 0.5 to 300 mm."),
])
def test_figures_are_told_as_a_maker_writes_them(capsys, words, told):
    assert told in refused(capsys, *words)


def test_the_thickest_work_has_a_rate_in_both_units(capsys, tmp_path):
    even, uneven = tmp_path / "even.toml", tmp_path / "uneven.toml"
    for plan, words in ((even, ["300"]), (uneven, ["150", "--uneven"])):
        assert main(["anneal", "--thickness-mm", *words, "--plan", str(plan)]) == 0
        assert "then 0.078 °C/h (0.14 °F/h) to 460 °C" in capsys.readouterr().out
    assert uneven.read_text(encoding="utf-8") == even.read_text(encoding="utf-8")  # so one of them is checked
    assert main(["plan", "check", str(even)]) == 0
    said = capsys.readouterr().out
    assert "0.078 °C/h (0.14 °F/h), down to 460 °C" in said
    assert " 0 °" not in said


@pytest.mark.parametrize("thickness", ["6", "19", "300"])
def test_an_anneal_in_fahrenheit_has_whole_degrees_and_is_never_looser(capsys, tmp_path, thickness):
    in_c, in_f = tmp_path / "c.toml", tmp_path / "f.toml"
    for path, unit in ((in_c, "C"), (in_f, "F")):
        assert main(["anneal", "--thickness-mm", thickness, "--plan", str(path), "--unit", unit]) == 0
    capsys.readouterr()
    written = tomllib.loads(in_f.read_text())
    assert written["unit"] == "F"
    assert all(isinstance(step["to"], int) for step in written["step"])
    pairs = zip(load_plan(str(in_c)).steps, load_plan(str(in_f)).steps, strict=True)
    for c, f in pairs:
        assert f.to_c == pytest.approx(c.to_c, abs=0.3)
        if c.rate_c_per_h is not None:
            assert 0.9 * c.rate_c_per_h < f.rate_c_per_h <= 1.0001 * c.rate_c_per_h


def test_a_level_step_stays_where_it_is(capsys, tmp_path):
    plan = tmp_path / "level.toml"
    plan.write_text('title = "Level"\nunit = "C"\n[[step]]\nrate = 100\nto = 500\nhold_min = 10\n'
                    '[[step]]\nrate = 100\nto = 500\nhold_min = 10\n')
    main(["plan", "check", str(plan)])
    assert "  2  100 °C/h (180 °F/h), stays at 500 °C (932 °F), hold 0:10\n" in capsys.readouterr().out


def test_a_slip_of_the_pen_is_shown_as_it_was_written(capsys, tmp_path):
    plan = tmp_path / "fast.toml"
    plan.write_text('title = "Fast"\nunit = "C"\n[[step]]\nrate = 9999999\nto = 500\n')
    assert "rate: 9999999 °C/h is faster than a kiln goes." in refused(capsys, "plan", "check", str(plan))


def test_a_wake_that_came_later_than_its_alert_has_a_time_of_its_own(capsys):
    main(["rehearse", PLAN, "--fault", "open@step2:hold+600s"])
    (told,) = [line for line in capsys.readouterr().out.splitlines() if line.startswith("[get up] sensor-fault")]
    at = dict(part.rsplit(" ", 1) for part in told.removeprefix("[get up] sensor-fault, ").split(", "))
    minutes = {word: int(clock[:-3]) * 60 + int(clock[-2:]) for word, clock in at.items()}
    assert 2 <= minutes["woke"] - minutes["raised"] <= 5  # blind for four minutes before it wakes
