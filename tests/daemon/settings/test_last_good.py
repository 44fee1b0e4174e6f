"""A settings file that can't be used leaves no kiln unwatched: the last good one serves, or what of it is right."""

from __future__ import annotations

import pytest

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.settings.last_good import COPY_NAME, keep_copy, usable_settings
from hw.max31856_settings import ChipSettings, read_settings

GOOD = '[kiln]\nname = "Back room"\n[[channel]]\nname = "phone"\nurl_file = "phone.url"\n'


@pytest.fixture
def owner(tmp_path):
    """Return a function that writes the owner's file and returns what the services then work with."""
    def settings(text):
        path = tmp_path / "lehrling.toml"
        path.write_text(text)
        return usable_settings(path, tmp_path)
    return settings


def test_a_file_in_order_is_used_and_names_itself(owner, tmp_path):
    config = owner(GOOD)
    assert (config.kiln_name, config.file, config.trouble) == ("Back room", tmp_path / "lehrling.toml", ())


@pytest.mark.parametrize("broken", [
    GOOD.replace("url_file", "url_fiel"), GOOD + "[kiln\n", "\x00", GOOD.replace('"phone.url"', "7"),
])
def test_where_it_cannot_be_used_the_last_good_one_serves_and_says_so(owner, tmp_path, broken):
    keep_copy(owner(GOOD).file, tmp_path)
    config = owner(broken)
    assert (config.kiln_name, [channel.name for channel in config.channels]) == ("Back room", ["phone"])
    assert config.channels[0].url_file == tmp_path / "phone.url"  # names of files count from the owner's own folder
    (told,) = config.trouble
    assert str(tmp_path / "lehrling.toml") in told
    assert "Lehrling works with those of" in told
    assert config.file is None  # it is not kept as a good one


def test_a_file_that_is_gone_is_served_by_its_copy(owner, tmp_path):
    keep_copy(owner(GOOD).file, tmp_path)
    (tmp_path / "lehrling.toml").unlink()
    config = usable_settings(tmp_path / "lehrling.toml", tmp_path)
    assert config.kiln_name == "Back room"
    assert "there is no such file" in config.trouble[0]


def test_without_a_copy_what_is_wrong_is_left_out_and_told(owner):
    config = owner(GOOD + '[[channel]]\nname = "sister"\nurl_fiel = "sister.url"\n[owner]\nunit = "K"\n')
    assert ([channel.name for channel in config.channels], config.unit) == (["phone"], "C")
    assert "url_fiel: unknown key" in config.trouble[0]
    assert "'K' is unknown" in config.trouble[0] or '"K" is unknown' in config.trouble[0]


@pytest.mark.parametrize(("text", "why"), [
    ('[probe]\nkind = "max3185"\n', "'max3185' is unknown"), ("[probe\n", "not readable as TOML"),
    ('[probe]\nthermocouple_type = "X"\n', "[probe] thermocouple_type: 'X' is unknown."),
    ('[probe]\nthermocuple_type = "N"\n', "[probe] thermocuple_type: unknown key."),
    ("probe = 3\n", "probe: 3 is not a table."),
])
def test_without_a_copy_nothing_replaces_the_probe_and_all_else_serves(owner, text, why):
    config = owner('[kiln]\nname = "Back room"\n' + text if text.startswith("[") else text)
    assert why in config.probe.trouble
    assert why in config.trouble[0]


@pytest.mark.parametrize("line", ["mains_hz = 55", "averaging = 3", "tolerance_class = 9"])
def test_a_line_without_which_the_probe_is_the_same_one_is_left_out(owner, line):
    config = owner(f'[probe]\nthermocouple_type = "N"\nbus = "/dev/spidev0.1"\n{line}\n')
    assert (config.probe.thermocouple_type, config.probe.trouble) == ("N", "")
    given = Fields(config.probe.settings, "[probe] ")
    assert read_settings(given) == ChipSettings("/dev/spidev0.1", "N", 50, 4)
    assert given.problems == []
    assert line.split()[0] in config.trouble[0]


def test_a_sounder_that_is_wrong_does_not_cost_the_probe(owner):
    config = owner('[probe]\nthermocouple_type = "N"\n[sounder]\npin = "D99"\n')
    assert (config.probe.thermocouple_type, config.probe.trouble) == ("N", "")
    assert "'D99' is no pin" in config.trouble[0]


def test_a_file_that_never_was_is_refused(tmp_path):
    with pytest.raises(BadInput, match="there is no such file"):
        usable_settings(tmp_path / "none.toml", tmp_path)


def test_the_copy_is_its_owners_alone_and_is_written_only_where_it_differs(owner, tmp_path):
    path = owner(GOOD).file
    keep_copy(path, tmp_path)
    copy = tmp_path / COPY_NAME
    assert copy.read_text() == GOOD
    assert copy.stat().st_mode & 0o077 == 0
    written = copy.stat().st_ino
    keep_copy(path, tmp_path)
    assert copy.stat().st_ino == written  # a new file would have another number


def test_a_full_disk_keeps_nobody_from_watching(owner, tmp_path, caplog):
    keep_copy(owner(GOOD).file, tmp_path / "gone")
    assert "No copy of" in caplog.text


def test_a_wrong_class_of_the_wire_does_not_cost_the_probe(owner):
    found = owner('[probe]\nthermocouple_type = "N"\ntolerance_class = 3\n')
    assert (found.probe.trouble, found.probe.thermocouple_type, found.probe.tolerance_class) == ("", "N", None)
    assert "tolerance_class" in found.trouble[0]
