"""``lehrling foresee`` on the invented studio's record."""

import json
import re
from datetime import UTC, datetime

import pytest

from daemon.cli import main
from daemon.firing.plan.plan import parse_plan, write_plan
from daemon.glass.advice import anneal
from daemon.glass.materials import FAMILIES
from daemon.store import firings, kilns
from daemon.store.database import create_database, open_database
from simulations.random_plans import on_paper
from simulations.studio.seed import FULL_FUSE, KILN_NAME, PAST, PRIMER, seed_studio


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("studio")
    db = create_database(path / "lehrling.db")
    seed_studio(db, datetime(2026, 5, 20, 12, tzinfo=UTC), [PAST[0], PAST[3]])
    db.close()
    (path / "lehrling.toml").write_text(f'[kiln]\nname = "{KILN_NAME}"\npower_kw = 3.8\nprice_per_kwh = 0.3\n'
                                        'currency = "€"\n[owner]\ntime_zone = "Europe/Berlin"\n')
    (path / "fuse.toml").write_text(FULL_FUSE)
    (path / "fast.toml").write_text(write_plan(on_paper(
        "Fast", "600/670/20, 600/800/15 top, free/516/60 anneal, 80/400, free/40")))
    return path


@pytest.fixture(scope="module")
def slow(tmp_path_factory):
    """Return the folder of a kiln whose record shows the most it can do."""
    path = tmp_path_factory.mktemp("slow")
    db = create_database(path / "lehrling.db")
    seed_studio(db, datetime(2026, 5, 20, 12, tzinfo=UTC), [PAST[0], PAST[3], PAST[4]])
    db.close()
    (path / "lehrling.toml").write_text(f'[kiln]\nname = "{KILN_NAME}"\n')
    return path


@pytest.fixture
def foresee(folder, capsys):
    def run(*words, plan="fuse.toml"):
        code = main(["foresee", str(folder / plan), "--data", str(folder), *words])
        told = capsys.readouterr()
        return code, told.out, told.err
    return run


def test_it_says_when_each_part_ends_and_how_sure_that_is(foresee):
    code, out, err = foresee()
    assert (code, err) == (0, "")
    assert "Learned from 2 firings of this kiln. These are few: the times are rough." in out
    assert "step 4, hold 1 h 00 min at 516 °C" in out
    assert "The anneal hold begins at about 5:4" in out
    assert "Cool enough to open, 40 °C at the thermocouple" in out
    assert "Shelf and mould may be warmer. Read the kiln's own display before you open it, and use gloves." in out
    assert "MPa would stay in the core" in out
    assert "not a safety device" in out


def test_with_a_start_it_says_times_of_the_clock(foresee):
    _, out, _ = foresee("--start", "21:30")
    assert "The anneal hold begins at about 03:1" in out


@pytest.mark.parametrize("typed", ["9pm", "21h", "21.00"])
def test_a_start_is_read_as_people_write_it(foresee, typed):
    _, out, _ = foresee("--start", typed)
    assert out == foresee("--start", "21:00")[1]


@pytest.mark.parametrize(("done", "told"), [
    ("hold", "the anneal hold is over most likely at about 07:"),
    ("annealed", "the anneal is over most likely at about 07:"),
    ("open", "the kiln is cool enough to open, 40 °C at the thermocouple, most likely at about 0"),
])
def test_the_latest_start_is_said_and_all_times_are_those_of_it(foresee, done, told):
    _, out, _ = foresee("--done-by", "8:00", "--done", done)
    said = out.split("\n\n")[1]
    start = re.search(r"Start at (\d\d:\d\d) \w+ at the latest\.\nThen ", said)[1]
    assert told in said
    assert said.endswith(f"All other times are of a start at {start}.")
    _, started, _ = foresee("--start", start)
    assert out.split("\n\n")[2:] == started.replace("mm\n", "mm\n\n", 1).split("\n\n")[1:]


def test_that_a_firing_runs_is_said_with_the_latest_start(foresee, folder, tmp_path):
    assert "A firing is running" not in foresee("--done-by", "8:00")[1]
    for name in ("lehrling.db", "lehrling.toml"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    db = open_database(tmp_path / "lehrling.db")
    kiln = kilns.kiln_id(db, KILN_NAME)
    firings.open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title="Now, invented",
                        opened_by="maker", started_utc=datetime(2026, 5, 20, 12, tzinfo=UTC), boot_id="invented",
                        clock_s=0.0)
    db.close()
    out = foresee("--done-by", "8:00", "--data", str(tmp_path))[1]
    assert "A firing is running in this kiln now. These times are for a kiln that has cooled down" in out


def test_the_latest_start_as_json_keeps_its_deadline(foresee):
    _, out, _ = foresee("--done-by", "8 am", "--json", "--longer", "30")
    found = json.loads(out)
    latest, (longer,) = found["latest_start"], found["what_if"]
    start, by, after_s = (datetime.fromisoformat(latest["start"]), datetime.fromisoformat(latest["by"]),
                          sum(found["in_this_kiln"]["hold_over"].values()))
    assert found["starts"] == latest["start"]
    assert 0 <= by.timestamp() - start.timestamp() - after_s <= 61
    assert latest["start"] > longer["latest_start"]["start"]
    assert json.loads(foresee("--json")[1])["latest_start"] is None


def test_of_a_kiln_with_no_glass_in_it_nothing_is_said_of_glass(foresee, folder):
    (folder / "primer.toml").write_text(PRIMER)
    code, out, _ = foresee("--start", "21:00", "--start", "22:00", plan="primer.toml")
    assert code == 0
    assert "There is no glass in the kiln, only shelves." in out
    for word in ("MPa", "anneal hold", "haze range", "Doubtful", "mm:", "anneal over"):
        assert word not in out
    assert "Cool enough to open" in out
    assert "kWh" in out
    assert "MPa" in foresee("--glass", "90", plan="primer.toml")[1]
    assert "MPa" not in foresee("--glass", "none")[1]
    _, out, _ = foresee("--done-by", "8:00", "--done", "hold", plan="primer.toml")
    assert "No latest start can be said: no glass is in the kiln, so nothing is annealed." in out
    found = json.loads(foresee("--json", plan="primer.toml")[1])
    assert (found["glass"], found["doubts"], found["in_this_kiln"]["slabs"]) == (False, [], [])
    assert found["anneal_begins_s"] is found["in_this_kiln"]["anneal_over"] is None
    code, _, err = foresee("--anneal-for", "12", plan="primer.toml")
    assert (code, "--anneal-for: the anneal for a thickness is asked, but there is no glass in the kiln" in err) == (
        2, True)


def test_a_change_is_headed_by_the_figure_that_was_asked(foresee, folder):
    _, out, _ = foresee("--hotter", "10.5", "--longer=-2.5", "--anneal-for", "12.5", "--anneal-for", "300")
    assert columns_of(out)[0][1:] == ["10.5 °C hotter", "2.5 min shorter", "anneal 12.5 mm", "anneal 300 mm"]
    (folder / "f.toml").write_text(FULL_FUSE.replace('unit = "C"', 'unit = "F"').replace("= 800", "= 1450"))
    _, out, _ = foresee("--hotter", "10.5", plan="f.toml")
    assert columns_of(out)[0] == ["as written", "10.5 °F hotter"]


def test_its_json_has_the_same_in_seconds(foresee):
    code, out, _ = foresee("--json")
    found = json.loads(out)
    assert code == 0
    assert found["firings"] == 2
    assert [part["step"] for part in found["parts"]] == [1, 2, 2, 3, 3, 4, 4, 5, 6, 7]
    assert found["parts"][5]["end_s"] == found["anneal_begins_s"]
    assert found["anneal_begins_s"] == pytest.approx(5.7 * 3600, abs=1200)
    assert found["curve"][-1][1] < 45


def test_in_fahrenheit_it_speaks_fahrenheit(foresee, folder):
    (folder / "f.toml").write_text('title = "Slump"\nunit = "F"\n[[step]]\nrate = 250\nto = 1200\nhold_min = 10\n'
                                   '[[step]]\nrate = "free"\nto = 960\nhold_min = 60\n'
                                   '[[step]]\nrate = 140\nto = 100\n')
    _, out, _ = foresee(plan="f.toml")
    assert "step 1, up to 1200 °F" in out
    assert "104 °F at the thermocouple" in out


def test_what_the_glass_goes_through_stands_beside_the_plans_own_times(foresee):
    _, out, _ = foresee()
    table = out.split("What the glass goes through\n")[1].split("\n\n")[0]
    assert re.split("  +", table.split("\n")[0].strip()) == ["by the plan", "in this kiln"]
    for row in ("peak", "within 20 °C of the peak", "700 to 760 °C, haze range", "6 mm: difference while annealing",
                "6 mm: stress that stays, about", "anneal hold, as if at 515 °C", "energy, about", "cost, about"):
        assert f"\n{row} " in table
    assert "kWh" in table


def test_its_doubts_are_those_of_plan_check(foresee, folder, capsys):
    main(["plan", "check", str(folder / "fuse.toml"), "--glass", "33", "--thickness-mm", "19 6"])
    doubtful = [line for line in capsys.readouterr().out.splitlines() if line.startswith("Doubtful: ")]
    assert len(doubtful) > 2
    _, out, _ = foresee("--glass", "33", "--thickness-mm", "19 6")
    assert [line for line in out.splitlines() if line.startswith("Doubtful: ")] == doubtful
    _, out, _ = foresee("--glass", "33", "--thickness-mm", "19 6", "--json")
    assert [f"Doubtful: {one}" for one in json.loads(out)["doubts"]] == doubtful


def test_a_target_that_it_may_not_reach_is_not_foretold_as_if_it_were(slow, folder, capsys):
    (folder / "hot.toml").write_text(write_plan(on_paper("Hot", "300/1385/20, free/516/60 anneal, 80/400, free/40")))
    words = ["foresee", str(folder / "hot.toml"), "--data", str(slow), "--hotter", "10"]
    assert main(words) == 0
    out = capsys.readouterr().out
    assert "This kiln reaches 1385 °C of step 1 only just, or not at all." in out
    assert out.split("What if")[0].count("only just, or not at all") == 1
    assert "can't reach" not in out
    assert "If it does, the anneal hold begins at about " in out
    assert "If it does, cool enough to open" in out
    step = next(line for line in out.splitlines() if line.startswith("step 2, hold") or "up to 1385" in line)
    assert step.endswith("if 1385 °C is reached") or step.endswith("perhaps not reached")
    assert "only if the kiln reaches" in out.split("What the glass goes through")[1]
    table = columns_of(out)
    assert ["only if the kiln reaches", "1385 °C", "1395 °C"] in table
    main([*words, "--json"])
    found = json.loads(capsys.readouterr().out)
    assert found["out_of_reach"] == {"step": 1, "to_c": 1385.0}
    assert found["what_if"][0]["out_of_reach"] == {"step": 1, "to_c": 1395.0}


def columns_of(out):
    """Return the table of what if: for each row its cells."""
    lines = out.split("What if\n")[1].split("\n\n")[0].splitlines()
    return [re.split(r"  +", line.strip()) for line in lines]


def test_three_changes_stand_beside_the_plan_as_it_is_written(foresee):
    _, out, _ = foresee("--start", "21:00", "--start", "23:00", "--hotter", "10", "--longer", "10",
                        "--anneal-for", "12")
    heads, *rows = columns_of(out)
    assert heads == ["start 21:00", "start 23:00", "10 °C hotter", "10 min longer", "anneal 12 mm"]
    found = {row[0]: row[1:] for row in rows if len(row) == 6}
    minutes = [int(at[:2]) * 60 + int(at[3:]) for at in found["anneal hold begins"]]
    assert minutes[1] - minutes[0] == 120
    assert 10 <= minutes[3] - minutes[0] <= 11
    assert found["peak"] == ["800 °C", "800 °C", "810 °C", "800 °C", "800 °C"]
    near = [int(said.removesuffix(" min")) for said in found["within 20 °C of the peak"]]
    assert near[3] == near[0] + 10
    _, out, _ = foresee("--longer", "10")
    assert "The same in all: peak (800 °C); " in out
    assert not [row for row in columns_of(out) if row[0] == "peak"]


def test_what_a_change_lasts_for_more_than_a_week_has_dates_and_reasons(foresee):
    _, out, _ = foresee("--longer", "9990", "--start", "21:00")
    row = next(row for row in columns_of(out) if row[0] == "anneal hold begins")
    assert re.fullmatch(r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d{1,2} [A-Z][a-z][a-z] \d\d:\d\d", row[2])
    assert "The energy of “9990 min longer” can't be reckoned: it lasts longer than 7 days." in out
    _, out, _ = foresee("--longer", "4000", "--start", "21:00")
    row = next(row for row in columns_of(out) if row[0] == "anneal hold begins")
    assert re.fullmatch(r"(Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d\d:\d\d", row[2])
    _, out, _ = foresee("--anneal-for", "300")
    assert "is not said of “anneal 300 mm”: it could be more than 3 h off." in out
    assert "as written”" not in out


def test_the_anneal_for_a_thickness_is_that_of_lehrling_anneal(foresee):
    _, out, _ = foresee("--anneal-for", "12", "--json")
    found = json.loads(out)
    longer_min = found["what_if"][0]["hold_worth_min"] - found["in_this_kiln"]["hold_worth_min"]
    asks = anneal(FAMILIES["90"], 12.0)
    assert longer_min == pytest.approx(asks.hold_min - 60, rel=0.15)
    assert found["what_if"][0]["slabs"][0]["stays_mpa"][1] < found["in_this_kiln"]["slabs"][0]["stays_mpa"][1]


def test_the_json_of_a_change_has_its_name_and_its_figures(foresee):
    _, out, _ = foresee("--start", "21:00", "--hotter", "-5", "--json")
    (change,) = json.loads(out)["what_if"]
    assert change["name"] == "5 °C cooler"
    assert change["peak_c"] == 795.0
    assert change["starts"].endswith(("T21:00:00+01:00", "T21:00:00+02:00"))
    assert change["kwh"]["low"] < change["kwh"]["likely"] < change["kwh"]["high"]
    assert json.loads(out)["followable"] is None


def test_a_plan_that_it_can_follow_is_said_and_printed(slow, folder, capsys):
    code = main(["foresee", str(folder / "fast.toml"), "--data", str(slow)])
    out = capsys.readouterr().out
    assert code == 0
    assert "This kiln can follow a plan that climbs more slowly in steps 1 and 2" in out
    assert "The data sheet of your glass and the manual of your kiln come first" in out
    assert main(["foresee", str(folder / "fast.toml"), "--data", str(slow), "--followable"]) == 0
    new = parse_plan(capsys.readouterr().out, "new")
    assert new.steps[-3:] == parse_plan((folder / "fast.toml").read_text(), "fast").steps[-3:]
    (folder / "new.toml").write_text(write_plan(new))
    main(["foresee", str(folder / "new.toml"), "--data", str(slow)])
    assert "can't follow" not in capsys.readouterr().out


def test_the_plan_that_it_can_follow_has_its_own_latest_start(slow, folder, capsys):
    words = ["foresee", str(folder / "fast.toml"), "--data", str(slow), "--done-by", "8:00"]
    assert main(words) == 0
    out = capsys.readouterr().out
    start = re.search(r"With the new plan.* start at (\d\d:\d\d) \w+ at the latest\.", out)[1]
    main([*words, "--json"])
    told = json.loads(capsys.readouterr().out)["followable"]
    assert f"T{start}:" in told["latest_start"]["start"]
    (folder / "new.toml").write_text(told["plan"])
    main(["foresee", str(folder / "new.toml"), *words[2:]])
    assert f"Start at {start} " in capsys.readouterr().out


def test_where_there_is_none_to_print_that_is_said_and_nothing_is_written(foresee, slow, folder, capsys):
    code, out, err = foresee("--followable", plan="fast.toml")
    assert (code, out) == (2, "")
    assert "no firing that is kept shows the most this kiln can do" in err
    assert main(["foresee", str(folder / "fuse.toml"), "--data", str(slow), "--followable"]) == 2
    assert "lehrling plan check" in (err := capsys.readouterr().err)
    assert "can climb as the plan is written" in err
    assert "Fire it as it is" not in err


@pytest.mark.parametrize(("words", "told"), [
    (["--hotter", "700"], "--hotter"), (["--hotter", "nan"], "--hotter"),
    (["--anneal-for", "4000"], "--anneal-for"),
    (["--hotter=1", "--hotter=2", "--hotter=3", "--longer=4", "--longer=5", "--longer=6"],
     "what if: 7 forecasts are too many"),
    (["--start", "half past nine"], "--start: 'half past nine' is no time of day"),
    (["--start", "25:00"], "--start: '25:00'"), (["--start", "21:00+23:00"], "more than one time of day"),
    (["--start", "9"], "--start: '9' could be morning or evening. Write 09:00 or 21:00."),
    (["--done", "open"], "--done: 'open' does not say by when. Give the time as well: --done-by 08:00."),
    (["--done-by", "12 am"], "--done-by: '12 am' could be noon or midnight."),
    (["--from-c", "900"], "--from-c: 900 °C is not between 0 and 600 °C."),
    (["--from-c", "500", "--done-by", "08:00"], "has cooled by its latest start."),
])
def test_what_cannot_be_used_is_named(foresee, words, told):
    code, out, err = foresee(*words)
    assert (code, out) == (2, "")
    assert told in err


def test_a_change_that_does_not_fit_is_named_and_stops_no_other(foresee):
    code, out, err = foresee("--hotter=-200", "--longer", "10", "--longer=-11")
    assert code == 2
    assert columns_of(out)[0] == ["as written", "10 min longer"]
    assert err.splitlines() == [
        "lehrling: --hotter: a top of 600 °C does not fit the plan. It must lie between 670 and 1400 °C. "
        "Change it by less.",
        "lehrling: --longer: the hold at the top, 10 min, can't be made 11 min shorter. "
        "Make it at most 10 min shorter, or 9990 min longer."]


def test_a_kiln_that_was_never_fired_is_sent_to_plan_check(folder, tmp_path, capsys):
    create_database(tmp_path / "lehrling.db").close()
    assert main(["foresee", str(folder / "fuse.toml"), "--data", str(tmp_path)]) == 2
    assert "lehrling plan check" in capsys.readouterr().err
    assert main(["foresee", str(folder / "fuse.toml"), "--data", str(tmp_path / "none")]) == 2
