"""``lehrling foresee`` on the invented studio's record."""

import json
from datetime import UTC, datetime

import pytest

from daemon.cli import main
from daemon.store.database import create_database
from simulations.studio.seed import FULL_FUSE, KILN_NAME, PAST, seed_studio


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("studio")
    db = create_database(path / "lehrling.db")
    seed_studio(db, datetime(2026, 5, 20, 12, tzinfo=UTC), [PAST[0], PAST[3]])
    db.close()
    (path / "lehrling.toml").write_text(f'[kiln]\nname = "{KILN_NAME}"\n[owner]\ntime_zone = "Europe/Berlin"\n')
    (path / "fuse.toml").write_text(FULL_FUSE)
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
    assert "MPa would stay in the core" in out
    assert "not a safety device" in out


def test_with_a_start_it_says_times_of_the_clock(foresee):
    _, out, _ = foresee("--start", "21:30")
    assert "The anneal hold begins at about 03:1" in out


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


@pytest.mark.parametrize(("words", "told"), [
    (["--start", "half past nine"], "--start half past nine: is no time of day"),
    (["--start", "25:00"], "--start 25:00"),
    (["--from-c", "900"], "--from-c 900"),
])
def test_what_cannot_be_used_is_named(foresee, words, told):
    code, out, err = foresee(*words)
    assert (code, out) == (2, "")
    assert told in err


def test_a_kiln_that_was_never_fired_is_sent_to_plan_check(folder, tmp_path, capsys):
    create_database(tmp_path / "lehrling.db").close()
    assert main(["foresee", str(folder / "fuse.toml"), "--data", str(tmp_path)]) == 2
    assert "lehrling plan check" in capsys.readouterr().err
    assert main(["foresee", str(folder / "fuse.toml"), "--data", str(tmp_path / "none")]) == 2
