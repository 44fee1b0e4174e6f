"""Another kiln on this computer: the commands that set it up, and what its settings say then."""

import shlex
import subprocess
import sys

import pytest

from daemon.cli import main
from daemon.settings.config import read_config


@pytest.fixture
def first(tmp_path):
    folder = tmp_path / "lehrling"
    folder.mkdir()
    (folder / "lehrling.toml").write_text('[kiln]\nname = "Small kiln"\n\n[page]\nhost = "0.0.0.0"\n')
    (folder / "passcode").write_text("hash")
    return folder


@pytest.fixture
def add(first, capsys):
    def run(*words):
        code = main(["kiln", "add", *words, "--print", "--data", str(first), "--run", str(first.parent / "run")])
        said = capsys.readouterr()
        return code, said.out, said.err
    return run


def carry_out(lines):
    """Run the commands but those that need root; return those."""
    left = []
    for line in lines.splitlines():
        command = shlex.split(line)
        if command[0] == "runuser":
            subprocess.run([sys.executable, "-m", "daemon.cli", *command[5:]], check=True, capture_output=True,
                           timeout=60)
        elif command[:2] == ["install", "-d"]:
            subprocess.run(["install", "-d", command[-1]], check=True, timeout=60)
        else:
            left.append(command)
    return left


def test_a_second_kiln_gets_folders_a_bus_and_a_page_of_its_own_and_stands_on_the_first_page(add, first):
    code, out, _ = add("casting", "--called", "Casting kiln")
    assert code == 0
    passcode, services = carry_out(out)
    assert passcode == ["install", "-o", "lehrling", "-g", "lehrling", "-m", "600", str(first / "passcode"),
                        f"{first}-casting/passcode"]
    assert services == ["systemctl", "enable", "--now", "lehrling-daemon@casting.service",
                        "lehrling-deliver@casting.service", "lehrling-web@casting.service",
                        "lehrling-copies@casting.timer"]
    second = read_config(first.with_name("lehrling-casting") / "lehrling.toml")
    assert (second.kiln_name, second.probe.settings["bus"]) == ("Casting kiln", "/dev/spidev0.1")
    assert (second.page.host, second.page.port) == ("0.0.0.0", 8081)
    assert read_config(first / "lehrling.toml").page.others == (first.parent / "run-casting",)


def test_a_third_kiln_stands_beside_the_second_and_needs_a_bus_of_its_own(add, first):
    carry_out(add("casting")[1])
    code, _, err = add("tiny")
    assert code == 2
    assert "both devices of the first SPI bus are taken. Name the device of this kiln’s converter" in err
    carry_out(add("tiny", "--bus", "/dev/spidev1.0")[1])
    third = read_config(first.with_name("lehrling-tiny") / "lehrling.toml")
    assert (third.kiln_name, third.probe.settings["bus"], third.page.port) == ("tiny kiln", "/dev/spidev1.0", 8082)
    assert read_config(first / "lehrling.toml").page.others == (first.parent / "run-casting",
                                                                first.parent / "run-tiny")


@pytest.mark.parametrize("name", ["Casting", "../x", "a b", "", "x" * 40, "copies"])
def test_a_name_that_is_no_folder_is_refused(add, first, name):
    code, _, err = add(name)
    assert code == 2
    assert list(first.parent.iterdir()) == [first]
    assert err


@pytest.mark.parametrize(("words", "said"), [
    (("--port", "8080"), "another kiln’s page is there"), (("--port", "x"), "can't be used"),
    (("--bus", "/dev/spidev0.0"), "another kiln’s converter is there"),
])
def test_a_port_or_a_bus_of_another_kiln_is_refused(add, words, said):
    code, _, err = add("casting", *words)
    assert code == 2
    assert said in err


def test_without_print_only_root_changes_anything(first, capsys, monkeypatch):
    monkeypatch.setattr("os.geteuid", lambda: 1000)
    assert main(["kiln", "add", "casting", "--data", str(first)]) == 2
    assert "sudo lehrling kiln add casting" in capsys.readouterr().err
    assert list(first.parent.iterdir()) == [first]
