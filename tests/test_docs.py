"""What the documents say can be typed, and what they show is what is printed."""

import argparse
import importlib.util
import re
import shlex
import subprocess
import sys
from importlib.metadata import entry_points
from pathlib import Path

import pytest

from daemon.firing.alerts.texts import KINDS
from daemon.firing.plan.plan import parse_plan

ROOT = Path(__file__).parents[1]
DOCUMENTS = ("README.md", "DEVELOPERS.md", "systemd/README.md", "docs/security.md")
COMMANDS = {entry.name: entry.load() for entry in entry_points(group="lehrling.commands")}


def blocks(name):
    """Return the code blocks of a document as (language, text)."""
    text = (ROOT / name).read_text(encoding="utf-8")
    return re.findall(r"^```(\w*)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def typed():
    """Return every ``lehrling …`` a document asks to be typed, as (document, words)."""
    found = []
    for name in DOCUMENTS:
        for language, text in blocks(name):
            if language not in ("sh", "text"):
                continue
            for line in text.replace("\\\n", " ").splitlines():
                if language == "text" and not line.startswith("$ "):
                    continue  # what a command printed
                for part in re.split(r"&&|\|\||[;|]", line.removeprefix("$ ").split(" #")[0]):
                    words = shlex.split(part.strip())
                    while words and words[0] in ("sudo", "-u"):
                        words = words[2 if words[0] == "-u" else 1:]
                    if words and (words[0] == "lehrling" or words[0].endswith("bin/lehrling")):
                        found.append((name, words[1:]))
    return found


class Parser(argparse.ArgumentParser):
    """Says what it would not take, instead of leaving."""

    def error(self, message):
        raise AssertionError(message)


@pytest.mark.parametrize(("name", "words"), typed(),
                         ids=lambda value: value if isinstance(value, str) else " ".join(value))
def test_what_a_document_asks_to_type_is_taken(name, words):
    if words == ["--help"]:
        return
    assert words[0] in COMMANDS, f"{name}: no command {words[0]}"
    if "--help" in words:
        return
    parser = Parser(prog=f"lehrling {words[0]}")
    COMMANDS[words[0]].configure(parser)
    parser.parse_args(words[1:])


def test_every_command_is_documented():
    assert {words[0] for _name, words in typed() if words[0] != "--help"} == set(COMMANDS)


def test_every_kind_of_alert_is_told_to_the_maker():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [kind for kind in KINDS if f"`{kind}`" not in text] == []


def test_every_benchmark_is_documented():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for path in (ROOT / "benchmarks").glob("*.py"):
        assert f"benchmarks/{path.name}" in text


@pytest.mark.parametrize("path", sorted((ROOT / "examples" / "plans").glob("*.toml")), ids=lambda path: path.name)
def test_every_example_plan_can_be_read_and_says_that_it_is_invented(path):
    text = path.read_text(encoding="utf-8")
    assert parse_plan(text, path.name).steps
    assert "An invented plan" in text


def test_the_plans_and_settings_in_the_documents_can_be_read(tmp_path):
    from daemon.settings.config import parse_config

    seen = set()
    for name in DOCUMENTS:
        for language, text in blocks(name):
            if language != "toml":
                continue
            kind = "plan" if "[[step]]" in text else "settings"
            seen.add(kind)
            if kind == "plan":
                parse_plan(text, name)
            else:
                parse_config(text, name, tmp_path)
    assert seen == {"plan", "settings"}


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_file_a_document_links_to_is_there(name):
    text = (ROOT / name).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#:]+)\)", text) + re.findall(r'src(?:set)?="([^":]+)"', text):
        assert ((ROOT / name).parent / target).exists(), target


def test_the_outputs_and_pictures_shown_are_what_the_commands_make():
    ran = subprocess.run([sys.executable, str(ROOT / "docs" / "make.py"), "--check"], capture_output=True,
                         text=True, timeout=300, check=False)
    assert (ran.stdout, ran.returncode) == ("", 0), ran.stdout + ran.stderr


def test_the_two_commands_at_the_top_stand_behind_their_marks():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for mark in ("run", "test"):
        line = re.search(rf"<!-- command: {mark} -->\n```sh\n(.+)\n```", text)[1]
        assert line.startswith("python3 -m venv .venv && .venv/bin/pip install -c constraints.txt")


def test_the_readme_says_how_often_clean_firings_woke_by_the_newest_study(tmp_path):
    spec = importlib.util.spec_from_file_location("make", ROOT / "docs" / "make.py")
    make = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make)
    study = tmp_path / "study-2031-01-02.md"
    study.write_text("| clean | 2000 | 3.0 | 2.5 | 0.51 | 4295 |\n\nRequired alerts found: 97 % of 460; "
                     "serious ones at rank wake: 96 % of 240; best name: 72 %.\n")
    told = " ".join(make.studied(study))
    assert "5 of 2000 firings with nothing wrong woke somebody all the same (2 in 1,000; the aim is 1)" in told
    assert "Of 460 things that went wrong and had to be told it told 97 %;" in told
    assert "of the 240 serious ones it woke for 96 %." in told
    study.write_text("nothing of the kind\n")
    with pytest.raises(SystemExit, match="holds no figures"):
        make.studied(study)
    assert f"docs/figures/{make.newest_study().name}" in (ROOT / "README.md").read_text(encoding="utf-8")
