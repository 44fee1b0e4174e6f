from __future__ import annotations

from datetime import time
from pathlib import Path

import pytest

from daemon.errors import BadInput
from daemon.firing.events import Rank
from daemon.firing.setup import Reads
from daemon.notify.alert_messages import Channel
from daemon.settings.config import MOST_TO_CALL, Config, parse_config, read_config
from daemon.settings.notifications import Alive

FOLDER = Path("/studio")
WHOLE = """
[kiln]
name = "Back room kiln"

[probe]
kind = "max31856"
thermocouple_type = "N"
bus = "/dev/spidev0.0"
mains_hz = 50

[owner]
unit = "F"
time_zone = "Europe/Vienna"

[page]
host = "0.0.0.0"
port = 8090
allowed_hosts = ["Kiln.local", "192.0.2.7"]
passcode_file = "passcode"
others = ["/run/lehrling-casting", "second"]

[[channel]]
name = "phone"
url_file = "phone.url"
ranks = ["wake"]

[[channel]]
name = "mail"
url_file = "/etc/lehrling/mail.url"
"""


def _problems(text):
    with pytest.raises(BadInput) as refused:
        parse_config(text, "lehrling.toml", FOLDER)
    head, *problems = refused.value.text.split("\n  ")
    assert head == "lehrling.toml: these settings can't be used:"
    return problems


def test_every_setting_is_read():
    config = parse_config(WHOLE, "lehrling.toml", FOLDER)
    assert (config.kiln_name, config.unit, config.time_zone) == ("Back room kiln", "F", "Europe/Vienna")
    assert (config.probe.kind, config.probe.thermocouple_type) == ("max31856", "N")
    assert config.probe.settings == {"thermocouple_type": "N", "bus": "/dev/spidev0.0", "mains_hz": 50}
    assert (config.page.host, config.page.port) == ("0.0.0.0", 8090)
    assert config.page.allowed_hosts == ("kiln.local", "192.0.2.7")
    assert config.page.passcode_file == FOLDER / "passcode"
    assert config.page.others == (Path("/run/lehrling-casting"), FOLDER / "second")
    assert config.channels == (
        Channel("phone", FOLDER / "phone.url", (Rank.WAKE,)),
        Channel("mail", Path("/etc/lehrling/mail.url"), (Rank.WAKE, Rank.LOOK)),
    )


def test_nothing_needs_to_be_written():
    assert parse_config("", "lehrling.toml", FOLDER) == Config()


def test_every_problem_is_told_at_once_with_its_key_value_and_remedy():
    problems = _problems("""
kilns = 1
[kiln]
name = 7
[probe]
kind = "max31855"
[owner]
unit = "K"
time_zone = "Mars/North"
zone = "x"
[page]
port = 80800
allowed_hosts = "kiln.local"
[[channel]]
ranks = ["shout"]
""")
    assert problems == [
        "[kiln] name: 7 is not text. Put it in quotes: \"…\".",
        "[probe] kind: 'max31855' is unknown. Known: max31856, bench, recorded.",
        "[owner] unit: 'K' is unknown. Known: C, F.",
        "[owner] time_zone: 'Mars/North' is no time zone. Write its name, as \"Europe/Vienna\".",
        "[page] port: 80800 is outside 1 to 65535. 8080 is usual.",
        "[page] allowed_hosts: 'kiln.local' is not a list. Write [\"…\", \"…\"].",
        "[[channel]] 1 ranks: 'shout' is unknown. Known: \"wake\", \"look\".",
        "[[channel]] 1 name: missing. Write name = \"…\".",
        "[[channel]] 1 url_file: missing. Write url_file = \"…\".",
        "kilns: unknown key. Known here: kiln, probe, owner, page, tell, alive, mqtt, copies, channel, sounder.",
        "[owner] zone: unknown key. Known here: unit, thickness_unit, time_zone, whom_to_call, quiet_from, "
        "quiet_to, awake_at.",
    ]


@pytest.mark.parametrize(("text", "told"), [
    ("kiln = 3", "kiln: 3 is not a table."),
    ("channel = [1]", "[[channel]] 1: 1 is no channel."),
    ("[page]\nport = true", "[page] port: True is not a whole number."),
    ('[kiln]\nname = "  "', "[kiln] name: is empty."),
    ('[[channel]]\nname="a"\nurl_file="b"\n[[channel]]\nname="a"\nurl_file="c"',
     "[[channel]] 2 name: 'a' is taken by another channel."),
])
def test_a_wrong_shape_is_told(text, told):
    assert any(told in problem for problem in _problems(text)), _problems(text)


def test_what_is_no_toml_is_told_with_its_line():
    with pytest.raises(BadInput, match=r"not readable as TOML: .*line 1"):
        parse_config("kiln name", "lehrling.toml", FOLDER)


def test_a_missing_file_and_one_of_another_encoding_are_told(tmp_path):
    with pytest.raises(BadInput, match="there is no such file"):
        read_config(tmp_path / "none.toml")
    (tmp_path / "latin.toml").write_bytes('[kiln]\nname = "Öfchen"'.encode("latin-1"))
    with pytest.raises(BadInput, match="not UTF-8"):
        read_config(tmp_path / "latin.toml")


def test_how_the_owner_is_reached_is_read():
    config = parse_config("""
[owner]
quiet_from = "22:30"
quiet_to = "06:45"
awake_at = "18:00"
[tell]
anneal-begun = "ring"
step = "no"
[alive]
url_file = "alive.url"
every_s = 30
[sounder]
pin = "D17"
[[channel]]
name = "sister"
url_file = "sister.url"
after_min = 10
""", "lehrling.toml", FOLDER)
    assert config.quiet_hours == (time(22, 30), time(6, 45))
    assert config.awake_at == time(18, 0)
    assert [config.post.loudness(name) for name in ("anneal-begun", "step-3", "top-reached", "call-640")] == [
        "ring", "no", "no", "ring"]
    assert config.alive == Alive(FOLDER / "alive.url", None, 30.0)
    assert config.sounder == {"kind": "gpio", "pin": "D17"}
    assert config.channels[0].after_min == 10.0


@pytest.mark.parametrize(("text", "told"), [
    ('[owner]\nquiet_from = "22:00"', "[owner] quiet_from: quiet hours need two different times."),
    ('[owner]\nawake_at = "six"', "[owner] awake_at: 'six' is no time of day."),
    ('[tell]\nanneal-begun = "loud"', "[tell] anneal-begun: 'loud' is unknown. Known: no, quiet, ring."),
    ('[tell]\nlunch = "ring"', "[tell] lunch: unknown key. Known here: squeeze-begun, top-reached"),
    ('[alive]\nevery_s = 1', "[alive] every_s: 1 is outside 10 to 3600."),
    ('[[channel]]\nname="a"\nurl_file="b"\nafter_min=900', "after_min: 900 is outside 0 to 240."),
])
def test_a_wrong_way_to_be_reached_is_told(text, told):
    assert any(told in problem for problem in _problems(text)), _problems(text)


def test_a_secret_never_stands_in_the_settings():
    # The address is named by its file only; there is no key for it.
    assert _problems('[[channel]]\nname="a"\nurl_file="b"\nurl="mailto://x:secret@y"')


def test_the_controllers_unit_is_the_owners_where_nothing_else_is_said():
    assert parse_config("", "lehrling.toml", Path()).reads == Reads("C", "")
    american = parse_config('[kiln]\ncontroller_unit = "F"\n[owner]\nunit = "C"\n', "lehrling.toml", Path())
    assert american.reads == Reads("C", "F")
    with pytest.raises(BadInput, match="controller_unit"):
        parse_config('[kiln]\ncontroller_unit = "K"\n', "lehrling.toml", Path())


def test_power_and_price_are_read_and_nought_counts_as_not_given():
    energy = parse_config('[kiln]\npower_kw = 3.6\nprice_per_kwh = 0.3\ncurrency = "€"', "x", FOLDER).energy
    assert (energy.power_kw, energy.price_per_kwh, energy.currency) == (3.6, 0.3, "€")
    assert parse_config("[kiln]\npower_kw = 0\nprice_per_kwh = 0", "x", FOLDER).energy == Config().energy
    assert Config().energy.power_kw is None


@pytest.mark.parametrize(("line", "problem"), [
    ("power_kw = 3600", "[kiln] power_kw: 3600 is outside 0 to 200 kW."),
    ('power_kw = "3,6"', "[kiln] power_kw: '3,6' is not a number. Write a number from 0 to 200 kW."),
    ('currency = "long crowns"', "[kiln] currency: 'long crowns' is longer than 8 characters. Write its sign."),
])
def test_a_power_in_watts_and_a_long_currency_are_refused(line, problem):
    assert _problems(f"[kiln]\n{line}") == [problem]


def test_whom_to_call_is_one_short_line():
    said = '[owner]\nwhom_to_call = "Mira, 0555 01234"'
    assert parse_config(said, "lehrling.toml", FOLDER).whom_to_call == "Mira, 0555 01234"
    long = "9" * (MOST_TO_CALL + 1)
    (problem,) = _problems(f'[owner]\nwhom_to_call = "{long}"')
    assert problem.startswith("[owner] whom_to_call: ")
    assert problem.endswith("is longer than 80 characters. Write a name and a number.")
