"""Changes of a case are exact, and a file of kept firings is read as it was written or refused with the remedy."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from math import inf

import pytest

from daemon.errors import BadInput
from simulations.cases import Case
from simulations.generator import clean_case
from simulations.studies.kept import FILE, Kept, changed, differences, fingerprint, kept_named, read_kept, write_kept
from simulations.studies.study import case_named, kept_case

START = clean_case(17)
CHANGES = {
    "noise_k": 0.1 + 0.2, "interval_s": 60, "is_offset_known": not START.is_offset_known, "faults": ["open@2h"],
    "around.start_c": 99.5, "kiln.lining.density": 601.25, "around.tuning.wait_k": inf,
    "around.sensor.sees": [0.1, 0.2, 0.3, 0.4],
}
KEPT = Kept("hunted-wakes-9-1", "wakes", "clean-17", fingerprint(START), "Wakes for nothing.", CHANGES)


def test_changes_and_differences_are_each_others_inverse():
    case = START
    new = changed(case, CHANGES)
    assert differences(case, new) == CHANGES
    assert new == replace(
        case, noise_k=0.1 + 0.2, interval_s=60, is_offset_known=not case.is_offset_known, faults=("open@2h",),
        kiln=replace(case.kiln, lining=replace(case.kiln.lining, density=601.25)),
        around=replace(case.around, start_c=99.5, tuning=replace(case.around.tuning, wait_k=inf),
                       sensor=replace(case.around.sensor, sees=(0.1, 0.2, 0.3, 0.4))),
    )


def test_a_field_at_its_default_is_no_part_of_the_fingerprint_and_any_other_is():
    @dataclass(frozen=True)
    class Longer(type(START)):
        added: float = 0.0

    longer = Longer(**{each.name: getattr(START, each.name) for each in fields(START)})
    assert fingerprint(longer) == fingerprint(START)
    assert fingerprint(replace(longer, added=1.0)) != fingerprint(START)
    assert fingerprint(replace(START, noise_k=START.noise_k + 0.1)) != fingerprint(START)


def test_a_value_that_is_taken_away_is_written_too():
    warm = changed(START, {"around.start_c": 99.5})
    assert differences(warm, changed(warm, {"around.start_c": "none"})) == {"around.start_c": "none"}
    assert changed(warm, {"around.start_c": "none"}).around.start_c is None


def test_the_file_gives_back_what_was_written(tmp_path):
    path = tmp_path / "hunted.toml"
    both = (KEPT, replace(KEPT, name="hunted-wakes-9-2", changes={}))
    write_kept(both, path)
    assert read_kept(path) == both
    write_kept((), path)
    assert read_kept(path) == ()
    write_kept(both, path)  # an emptied file is taken for one of its kind
    assert read_kept(path) == both
    assert read_kept(tmp_path / "none.toml") == ()


@pytest.mark.parametrize(("changes", "wanted"), [
    ({"noise_q": 1.0}, ("'noise_q'", "no field of a Case", "noise_k")),
    ({"around.tuning.bandwidth": 1.0}, ("'around.tuning.bandwidth'", "no field of a Tuning", "band_k")),
    ({"noise_k.more": 1.0}, ("single value", "'more'")),
    ({"noise_k": "loud"}, ("'noise_k'", "'loud'", "float")),
    ({"noise_k": True}, ("True", "float")),
    ({"interval_s": 5.5}, ("5.5", "int")),
    ({"kiln.power_w": "none"}, ("'none'", "float")),
    ({"plan": "fuse"}, ("'plan'", "'fuse'", "Plan")),
    ({"around.sensor.sees": [0.5, 0.5]}, ("[0.5, 0.5]",)),
    ({"faults": ["gremlin@2h"]}, ("gremlin",)),
])
def test_a_change_that_fits_no_longer_is_refused_with_place_field_and_remedy(changes, wanted):
    with pytest.raises(BadInput) as err:
        kept_case(replace(KEPT, changes=changes))
    assert all(word in err.value.text for word in (*wanted, str(FILE), KEPT.name, "Hunt anew, or take this case out"))


@pytest.mark.parametrize(("before", "after", "wanted"), [
    ('aim = "wakes"', "aim = 3", ("'aim' is 3", "text")),
    ('aim = "wakes"\n', "", ("'aim' is missing", "text")),
    ('aim = "wakes"', 'aim = "noise"', ("'noise'", "wakes, silence")),
    ('aim = "wakes"', 'aim = "wakes"\nmoon = 1', ("unknown key 'moon'", "found, changes")),
    ('aim = "wakes"', "aim =", ("no TOML",)),
])
def test_a_file_that_cannot_be_read_is_refused_with_case_and_key(tmp_path, before, after, wanted):
    path = tmp_path / "hunted.toml"
    write_kept((KEPT,), path)
    path.write_text(path.read_text(encoding="utf-8").replace(before, after), encoding="utf-8")
    with pytest.raises(BadInput) as err:
        read_kept(path)
    assert all(word in err.value.text for word in (*wanted, str(path)))


def test_a_kept_firing_that_began_from_no_drawn_one_is_refused():
    with pytest.raises(BadInput, match="no drawn firing"):
        kept_case(replace(KEPT, start="second-clean-17"))


def test_an_unknown_kept_firing_lists_the_known(tmp_path):
    path = tmp_path / "hunted.toml"
    write_kept((KEPT,), path)
    assert kept_named(KEPT.name, path) == KEPT
    with pytest.raises(BadInput, match="hunted-wakes-9-1"):
        kept_named("hunted-wakes-9-7", path)
    with pytest.raises(BadInput, match="is not kept"):
        case_named("hunted-gremlin")


def test_every_kept_firing_is_built_and_runs_by_its_name():
    kept = read_kept()
    assert kept
    assert len({each.name for each in kept}) == len(kept)
    for each in kept:
        case = case_named(each.name)
        assert isinstance(case, Case)
        assert case.name == each.name
        # The bench still draws the firing it began from: where not, hunt anew.
        assert fingerprint(case_named(each.start)) == each.drawn
