"""Settings changed by name: checked whole, everything else in the file left as it was, addresses kept apart."""

from __future__ import annotations

import stat
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.settings.change import change
from daemon.settings.config import parse_config
from daemon.settings.edit import with_settings
from daemon.settings.keys import KEYS

FILE = """# My kiln.
[kiln]
name = "Studio kiln"            # the big one

[probe]
kind = "max31856"
thermocouple_type = "K"
mains_hz = 50                   # 60 in North America

[owner]
unit = "C"

[[channel]]                     # by my bed
name = "phone"
url_file = "phone.url"
ranks = ["wake", "look"]
"""


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "lehrling.toml"
    path.write_text(FILE, encoding="utf-8")
    path.chmod(0o640)
    (tmp_path / "phone.url").write_text("json://127.0.0.1:9/old\n", encoding="utf-8")
    return path


def test_one_line_changes_and_all_others_with_their_remarks_stay(file):
    config = change(file, {"probe.mains_hz": "60"})
    assert config.probe.settings["mains_hz"] == 60
    assert file.read_text(encoding="utf-8") == FILE.replace("mains_hz = 50 ", "mains_hz = 60 ")


def test_a_section_that_is_missing_is_made(file):
    change(file, {"page.port": "8090", "page.open_reading": "yes", "kiln.controller_unit": "F"})
    said = tomllib.loads(file.read_text(encoding="utf-8"))
    assert said["page"] == {"port": 8090, "open_reading": True}
    assert said["kiln"] == {"name": "Studio kiln", "controller_unit": "F"}
    assert file.read_text(encoding="utf-8").startswith("# My kiln.\n")


def test_a_file_that_is_missing_is_made(tmp_path):
    path = tmp_path / "lehrling.toml"
    assert change(path, {"kiln.name": "Loft"}).kiln_name == "Loft"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_setting_is_taken_out_and_its_usual_value_serves_again(file):
    assert change(file, {"kiln.name": None}).kiln_name == "Kiln"
    assert change(file, {"owner.quiet_from": None}).quiet_hours is None  # there was none


@pytest.mark.parametrize(("changes", "told"), [
    ({"kiln.nmae": "x"}, "kiln.nmae: is no setting. Did you mean kiln.name? lehrling settings list has them all."),
    ({"power_kw": "3"}, "power_kw: is no setting. Did you mean kiln.power_kw?"),
    ({"owner.mains-hz": "50"}, "Did you mean probe.mains_hz?"),
    ({"kiln.unit": "F"}, "Did you mean owner.unit"),
    ({"probe.type": "N"}, "Did you mean probe.thermocouple_type?"),
    ({"channel.mail.adress": "x"}, "Did you mean channel.NAME.address or channel.NAME.ranks or"),
    ({"colour": "blue"}, "colour: is no setting. lehrling settings list has them all."),
    ({"probe.thermocouple_type": "X"}, "'X' is unknown. Known: B, E, J, K, N, R, S, T."),
    ({"probe.mains_hz": "fifty"}, "'fifty' is not a whole number"),
    ({"page.port": "99999"}, "99999 is outside 1 to 65535"),
    ({"page.open_reading": "perhaps"}, "neither true nor false"),
    ({"owner.time_zone": "Mars/Olympus"}, "'Mars/Olympus' is no time zone"),
    ({"owner.quiet_from": "22:00"}, "quiet hours need two different times"),
    ({"probe.mains_hz": "55"}, "[probe] mains_hz: 55 is unknown. Known: 50, 60."),
    ({"probe.averaging": "3"}, "[probe] averaging: 3 is unknown. Known: 1, 2, 4, 8, 16."),
    ({"probe.bus": "spidev0.0"}, "[probe] bus: 'spidev0.0' is no device. Write it as /dev/spidev0.0"),
    ({"page.host": "300.1.2.3"}, "[page] host: '300.1.2.3' is no address. Write 0.0.0.0"),
    ({"page.host": "my house"}, "'my house' is no address"),
    ({"page.host": "0.0.0.0", "page.behind_tls": "yes"}, "behind_tls is for a page that only a proxy"),
    ({"sounder.pin": "999"}, "[sounder] pin: '999' is no pin of a Raspberry Pi. Write one from D2 to D27, as D17."),
    ({"sounder.pin": "D28"}, "'D28' is no pin"),
    ({"sounder.pin": "D17", "sounder.lamp_pin": "D17"}, "[sounder] lamp_pin: D17 switches the sounder already."),
    ({"sounder.lamp_pin": "D10"}, "D10 is one of the converter's own pins."),
    ({"sounder.active_low": "yes"}, "[sounder] pin: missing."),
    ({"channel.mail.ranks": "wake"}, "there is no channel “mail”. Give it an address first."),
    ({"channel.phone.ranks": "shout"}, "'shout' is unknown"),
    ({"channel.mail.address": "my phone, secret"}, "channel.mail.address: this is no address."),
    ({"kiln.name": "x" * 3000}, "has 3000 characters"),
])
def test_what_cannot_be_used_is_told_and_changes_nothing(file, changes, told):
    with pytest.raises(BadInput) as refused:
        change(file, {"owner.unit": "F", **changes})
    assert told in refused.value.text
    assert "secret" not in refused.value.text
    assert file.read_text(encoding="utf-8") == FILE
    assert sorted(path.name for path in file.parent.iterdir()) == ["lehrling.toml", "phone.url"]


def test_a_sounder_is_taken_out_by_its_last_pin(file):
    assert change(file, {"sounder.lamp_pin": "D27"}).sounder == {"kind": "gpio", "lamp_pin": "D27"}
    assert change(file, {"sounder.lamp_pin": None}).sounder is None


def test_after_the_last_channel_was_taken_out_one_is_added_again(file):
    assert change(file, {"channel.phone": None}).channels == ()
    assert "channel" not in tomllib.loads(file.read_text(encoding="utf-8"))
    added = change(file, {"channel.phone.address": "json://127.0.0.1:9/x"})
    assert [channel.name for channel in added.channels] == ["phone"]


def test_an_empty_list_of_channels_is_replaced_by_the_first_that_is_added(file):
    rest = FILE.partition("[[channel]]")[0]
    file.write_text(f"channel = []\n{rest}", encoding="utf-8")
    assert parse_config(file.read_text(encoding="utf-8"), str(file), file.parent).channels == ()
    added = change(file, {"channel.phone.address": "json://127.0.0.1:9/x"})
    assert [channel.name for channel in added.channels] == ["phone"]
    assert "channel = []" not in file.read_text(encoding="utf-8")
    assert file.read_text(encoding="utf-8").startswith("# My kiln.\n[kiln]\n")


def test_an_address_goes_into_a_file_that_only_the_service_reads(file):
    config = change(file, {"channel.Sister’s phone.address": " json://127.0.0.1:9/secret ",
                           "channel.Sister’s phone.after_min": "10"})
    sister = config.channels[1]
    assert (sister.name, sister.after_min) == ("Sister’s phone", 10.0)
    kept = file.parent / "sister-s-phone.url"
    assert kept.read_text(encoding="utf-8") == "json://127.0.0.1:9/secret\n"
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert "secret" not in file.read_text(encoding="utf-8")


def test_a_channel_that_is_taken_out_takes_its_address_with_it(file):
    assert change(file, {"channel.phone": None}).channels == ()
    assert not (file.parent / "phone.url").exists()
    assert "[probe]" in file.read_text(encoding="utf-8")


def test_a_file_that_is_no_toml_is_left_to_be_mended(file):
    file.write_text("[kiln\n", encoding="utf-8")
    with pytest.raises(BadInput, match="Mend the file by hand first"):
        change(file, {"kiln.name": "x"})


@pytest.mark.slow
@settings(max_examples=80, deadline=None)
@given(st.lists(st.sampled_from([("kiln.name", "A \"new\" [name]"), ("owner.unit", "F"), ("owner.unit", None),
                                 ("page.port", 81), ("kiln.controller_unit", "F"), ("owner.quiet_from", "22:00"),
                                 ("owner.quiet_to", "07:00"), ("page.allowed_hosts", ["a.b", "c"]),
                                 ("channel.phone.after_min", 5), ("channel.x.url_file", "x.url"),
                                 ("channel.x", None)]), max_size=12))
def test_any_order_of_changes_leaves_toml_that_says_what_was_asked(changes):
    text, asked = FILE, {}
    for key, value in changes:
        text = with_settings(text, "test", {key: value})
        asked[key] = value
    said = tomllib.loads(text)
    for key, value in asked.items():
        if not key.startswith("channel"):
            section, _, name = key.partition(".")
            assert said.get(section, {}).get(name) == value
    of_x = [key for key, _ in changes if key.startswith("channel.x")]
    assert any(row["name"] == "x" for row in said["channel"]) == (of_x[-1:] == ["channel.x.url_file"])
    for remark in ("# My kiln.", "# the big one", "# by my bed"):
        assert remark in text


def test_every_setting_of_the_table_has_a_key_and_every_key_a_row():
    from pathlib import Path

    rows, section = [], ""
    document = (Path(__file__).parents[3] / "docs" / "settings.md").read_text(encoding="utf-8")
    for line in document.split("## Every setting")[1].split("\n## ")[0].splitlines():
        if line.startswith("| ") and not line.startswith(("| Section", "|---")):
            first, names = (cell.strip() for cell in line.split("|")[1:3])
            section = first.strip("`[]") or section
            rows += [f"{section}.{name.strip().strip('`')}" for name in names.split(",") if "`" in name]
    plain = {row for row in rows if not row.startswith(("channel.", "tell."))}
    assert plain == set(KEYS)


def test_the_defaults_that_are_named_are_those_of_an_empty_file(tmp_path):
    empty = parse_config("", "test", tmp_path)
    assert (KEYS["kiln.name"].usual, KEYS["owner.unit"].usual, KEYS["owner.thickness_unit"].usual) == (
        empty.kiln_name, empty.unit, empty.thickness_unit)
    assert (KEYS["page.host"].usual, KEYS["page.port"].usual) == (empty.page.host, str(empty.page.port))
