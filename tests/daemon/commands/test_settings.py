"""Settings by name on the command line."""

from __future__ import annotations

import io

import pytest

from daemon.cli import main


@pytest.fixture
def said(tmp_path, capsys):
    def run(*words):
        code = main(["settings", *words, "--data", str(tmp_path), "--run", str(tmp_path)])
        told = capsys.readouterr()
        return code, told.out, told.err

    return run


def test_a_setting_is_set_read_listed_and_taken_out(said, tmp_path):
    code, out, _ = said("set", "kiln.controller_unit", "F")
    assert (code, "from its next start on" in out) == (0, True)
    assert said("get", "kiln.controller_unit")[1] == "F\n"
    assert "kiln.controller_unit     F " in said("list")[1]
    assert said("unset", "kiln.controller_unit")[0] == 0
    assert said("get", "kiln.controller_unit")[1] == "the owner’s\n"
    assert (tmp_path / "lehrling.toml").exists()


def test_what_cannot_be_used_ends_with_2_and_a_sentence(said):
    code, _, err = said("set", "probe.thermocouple_type", "X")
    assert code == 2
    assert "'X' is unknown. Known: B, E, J, K, N, R, S, T." in err
    assert said("get", "kiln.colour")[2] == "lehrling: kiln.colour: is no setting. " \
        "lehrling settings list has them all.\n"


def test_settings_that_need_each_other_are_given_at_once_and_the_refusal_names_the_command(said):
    _, _, err = said("set", "owner.quiet_to", "06:30")
    command = "lehrling settings set owner.quiet_from 22:00 owner.quiet_to 06:30"
    assert command in err
    assert said(*command.split()[2:])[0] == 0
    assert said("get", "owner.quiet_to")[1] == "06:30\n"
    assert said("unset", "owner.quiet_to")[0] == 2
    assert said("unset", "owner.quiet_to", "owner.quiet_from")[0] == 0
    assert said("get", "owner.quiet_to")[1] == "none\n"


@pytest.mark.parametrize(("words", "told"), [
    (["kiln.name"], "kiln.name: stands without a value."),
    (["kiln.name", "My", "kiln.controller_unit"], "kiln.controller_unit: stands without a value."),
    (["kiln.name", "A", "kiln.name", "B"], "kiln.name: is given twice."),
])
def test_words_that_are_no_pairs_change_nothing(said, tmp_path, words, told):
    code, _, err = said("set", *words)
    assert (code, told in err) == (2, True)
    assert not (tmp_path / "lehrling.toml").exists()


def test_a_file_that_is_not_there_yet_is_kept_with_a_warning(said, tmp_path):
    code, out, _ = said("set", "alive.url_file", "alive.url")
    assert (code, out.splitlines()[1:]) == (0, [
        f"There is no {tmp_path / 'alive.url'} yet. Until it is there, no sign of life goes out by it."])
    assert "There is no" not in said("set", "kiln.name", "Loft")[1]  # it is said once
    (tmp_path / "alive.url").write_text("http://127.0.0.1:9/\n")
    assert "There is no" not in said("set", "alive.url_file", "alive.url")[1]


def test_a_login_or_an_authority_of_the_broker_that_is_not_there_yet_is_told(said, tmp_path):
    _, out, _ = said("set", "mqtt.host", "broker", "mqtt.tls", "true", "mqtt.login_file", "in", "mqtt.ca_file", "ca")
    for name in ("in", "ca"):
        assert f"There is no {tmp_path / name} yet. Until it is there, nothing is published over MQTT." in out


def test_a_host_that_the_page_cannot_use_is_kept_with_a_warning_and_waits_for_the_next_start(said):
    code, out, _ = said("set", "page.host", "192.0.2.7", "page.port", "8090")  # RFC 5737: nobody's address
    assert code == 0
    first, second = out.splitlines()
    assert first == ("Kept. The page works with page.host and page.port from its next start on: "
                     "sudo systemctl restart lehrling-web")
    assert second.startswith("The page can't listen at 192.0.2.7 now: this is no address of this computer.")
    assert "can't listen" not in said("set", "page.host", "127.0.0.1")[1]


def test_a_sounder_that_was_set_while_no_daemon_runs_was_not_tried(said):
    code, out, _ = said("set", "sounder.pin", "D17")
    assert (code, "The sounder was not tried yet." in out) == (0, True)
    assert "not tried" not in said("unset", "sounder.pin")[1]


def test_a_sounder_that_the_daemon_could_not_open_is_told_in_the_same_answer(said, monkeypatch):
    from daemon.service import ask_settings, sounder_word

    monkeypatch.setattr(ask_settings, "ask_settings", lambda *asked: True)
    monkeypatch.setattr(sounder_word, "after_change", lambda *asked: sounder_word.Word("not opened", "D17 is busy."))
    assert said("set", "sounder.pin", "D17")[1].splitlines() == [
        "Kept.", "But the daemon could not open the sounder, so it will not wake you. D17 is busy."]


def test_a_place_for_copies_that_cannot_take_one_is_kept_with_a_warning(said, tmp_path):
    code, out, _ = said("set", "copies.elsewhere", str(tmp_path / "copies"))
    assert (code, "copies lies inside the data folder" in out) == (0, True)


def test_what_was_not_set_is_not_said_to_be_taken_out(said):
    code, out, err = said("unset", "channel.nobody")
    assert (code, out, "channel.nobody: there is no such channel." in err) == (2, "", True)
    assert said("unset", "kiln.power_kw")[:2] == (0, "Nothing was set of kiln.power_kw.\n")
    assert said("set", "kiln.currency", "€")[0] == 0
    first, second = said("unset", "kiln.power_kw", "kiln.currency")[1].splitlines()
    assert (first, second[:10]) == ("Nothing was set of kiln.power_kw.", "Taken out.")
    assert said("unset", "kiln.colour")[0] == 2


def test_a_power_below_nought_is_told_as_outside_what_a_kiln_has(said):
    assert "[kiln] power_kw: -3.0 is outside 0 to 200 kW." in said("set", "kiln.power_kw", "-3")[2]


def test_a_bus_that_is_not_there_is_kept_with_a_warning(said):
    code, out, _ = said("set", "probe.bus", "/dev/spidev9.7")
    assert code == 0
    assert "There is no /dev/spidev9.7 yet. Until it is there, the kiln is not watched." in out


def test_a_probe_that_the_daemon_would_refuse_is_not_kept(said, tmp_path):
    code, _, err = said("set", "probe.kind", "recorded")
    assert code == 2
    assert '[probe] trace: missing. Write trace = "FILE.csv".' in err
    assert not (tmp_path / "lehrling.toml").exists()
    assert said("set", "probe.kind", "bench")[0] == 0  # which needs nothing more, and is not opened
    assert said("set", "probe.bus", "/dev/spidev0.0")[0] == 2


def test_an_address_is_read_from_the_input_and_never_shown(said, tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("json://127.0.0.1:9/hush\n"))
    assert said("set", "channel.phone.address", "-")[0] == 0
    assert (tmp_path / "phone.url").read_text(encoding="utf-8") == "json://127.0.0.1:9/hush\n"
    assert said("get", "channel.phone.address")[1] == "(in phone.url)\n"
    assert "hush" not in said("list")[1]
    assert said("unset", "channel.phone")[0] == 0
    assert "channel.phone" not in said("list")[1]


@pytest.mark.slow
def test_a_running_daemon_works_with_a_change_without_a_new_process(tmp_path):
    import json
    import subprocess
    import sys
    import threading

    from daemon.service.ask_settings import ask_settings

    def wait_for_kiln(name):
        for _ in range(600):
            try:
                if json.loads((tmp_path / "present.json").read_text(encoding="utf-8"))["kiln"] == name:
                    return
            except (OSError, ValueError, KeyError):
                pass
            threading.Event().wait(0.1)
        raise AssertionError(f"no {name} within a minute: {(tmp_path / 'log').read_text(encoding='utf-8')}")

    file = tmp_path / "lehrling.toml"
    # The bench's controller is started late, so that no firing opens by itself.
    file.write_text('[kiln]\nname = "Loft"\n[probe]\nkind = "bench"\nstart_s = 100000.0\n', encoding="utf-8")
    with (tmp_path / "log").open("wb") as log:
        child = subprocess.Popen([sys.executable, "-m", "daemon.cli", "daemon", "--data", str(tmp_path), "--run",
                                  str(tmp_path)], stderr=log)
    try:
        wait_for_kiln("Loft")
        assert ask_settings(file, tmp_path, {"kiln.name": "Cellar"})
        wait_for_kiln("Cellar")
        assert child.poll() is None
    finally:
        child.terminate()
        assert child.wait(60) == 0
