"""What the documents say can be typed, and what they show is what is printed."""

import argparse
import importlib
import importlib.util
import re
import shlex
import subprocess
import sys
from importlib.metadata import entry_points
from pathlib import Path
from types import ModuleType

import pytest

from benchmarks.trials.__main__ import NAMES as TRIALS
from daemon.firing import example_firing
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.plan.plan import parse_plan
from daemon.firing.speaker import ELECTRIC
from daemon.settings.config import parse_config
from daemon.studio.settings import parse_studio

ROOT = Path(__file__).parents[1]
DOCUMENTS = tuple(sorted(
    path.relative_to(ROOT).as_posix()
    for pattern in ("*.md", "docs/**/*.md", "systemd/*.md") for path in ROOT.glob(pattern)))
LONGEST = {"README.md": 220, "DEVELOPERS.md": 80, "docs/develop/start.md": 120}
"""How many lines the documents that are read first may have."""
COMMANDS = {entry.name: entry.load() for entry in entry_points(group="lehrling.commands")}


def read(name):
    """Return the text of a document."""
    return (ROOT / name).read_text(encoding="utf-8")


def blocks(name):
    """Return the code blocks of a document as (language, text)."""
    return re.findall(r"^```(\w*)\n(.*?)^```$", read(name), re.MULTILINE | re.DOTALL)


def prose(name):
    """Return a document without its code blocks."""
    return re.sub(r"^```.*?^```$", "", read(name), flags=re.MULTILINE | re.DOTALL)


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
    text = read("docs/alerts.md")
    assert [kind.name for kind in KINDS if f"`{kind.name}`" not in text] == []


def loaded(path):
    """Return a file outside the packages as a module."""
    spec = importlib.util.spec_from_file_location(f"lehrling_docs_{path.stem}", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_watch_that_the_document_adds_works(monkeypatch):
    document = read("docs/develop/add_a_watch.md")
    code = dict(re.findall(r"^```python\n# (\S+)\n(.*?)^```$", document, re.MULTILINE | re.DOTALL))
    watch = ModuleType("daemon.firing.watches.late_top")
    monkeypatch.setitem(sys.modules, watch.__name__, watch)
    exec(code["daemon/firing/watches/late_top.py"], watch.__dict__)
    found = Finding(watch.KIND, Rank.LOG, 0.0, watch.KIND.examples[0].facts)
    text = watch.KIND.words(found, example_firing.speaker())
    assert text.what == "Top of 800 °C reached 90 min later than planned."
    assert ELECTRIC in text.do

    tests = {}
    exec(code["tests/daemon/firing/watches/test_late_top.py"], tests)
    claims = [claim for name, claim in tests.items() if name.startswith("test_")]
    assert len(claims) == 3
    situations = loaded(ROOT / "tests" / "daemon" / "firing" / "watches" / "conftest.py")
    for claim in claims:
        claim(situations.build_view, situations.leg)


def test_every_benchmark_is_documented():
    text = read("docs/develop/running.md")
    for path in (ROOT / "benchmarks").glob("[!_]*.py"):
        assert f"benchmarks.{path.stem}" in text, path.name
    for name in TRIALS:
        assert f"benchmarks.trials {name}" in text, name


@pytest.mark.parametrize("name", LONGEST)
def test_what_is_read_first_stays_short(name):
    assert len(read(name).splitlines()) <= LONGEST[name]


@pytest.mark.parametrize("path", sorted((ROOT / "examples" / "plans").glob("*.toml")), ids=lambda path: path.name)
def test_every_example_plan_can_be_read_and_says_that_it_is_invented(path):
    text = path.read_text(encoding="utf-8")
    assert parse_plan(text, path.name).steps
    assert "An invented plan" in text


def test_the_plans_and_settings_in_the_documents_can_be_read(tmp_path):
    seen = set()
    for name in DOCUMENTS:
        for language, text in blocks(name):
            if language != "toml":
                continue
            kind = "plan" if "[[step]]" in text else "studio" if "[[box]]" in text else "settings"
            seen.add(kind)
            if kind == "plan":
                parse_plan(text, name)
            elif kind == "studio":
                parse_studio(text, tmp_path / name)
            else:
                parse_config(text, name, tmp_path)
    assert seen == {"plan", "settings", "studio"}


def headings(name):
    """Return the anchors of a document's headings: lower case, no signs, hyphens for spaces."""
    found = re.findall(r"^#+ +(.+)$", prose(name), re.MULTILINE)
    words = [re.sub(r"\[([^]]*)\]\([^)]*\)", r"\1", heading) for heading in found]
    return {re.sub(r"[^\w\- ]", "", heading.strip().lower()).replace(" ", "-") for heading in words}


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_file_and_heading_a_document_links_to_is_there(name):
    text = prose(name)
    for target in re.findall(r"\]\(([^)\s]+)\)", text) + re.findall(r'src(?:set)?="([^"]+)"', text):
        if re.match(r"[a-z]+:", target):
            continue  # elsewhere; no test asks another machine
        file, _, anchor = target.partition("#")
        path = (ROOT / name).parent / file if file else ROOT / name
        assert path.exists(), target
        if anchor:
            assert anchor in headings(path.resolve().relative_to(ROOT).as_posix()), target


@pytest.mark.parametrize("name", DOCUMENTS)
def test_no_heading_stands_twice_in_a_document_so_that_a_link_leads_to_the_right_one(name):
    found = re.findall(r"^#+ +(.+)$", prose(name), re.MULTILINE)
    assert sorted(found) == sorted(set(found))


LONG_LINES = 145
"""From here on a document that a maker reads begins with its contents."""


@pytest.mark.parametrize("name", [
    name for name in DOCUMENTS
    if (name == "README.md" or re.fullmatch(r"docs/[a-z]+\.md", name)) and read(name).count("\n") > LONG_LINES])
def test_a_long_document_begins_with_links_to_its_main_headings(name):
    above, *_ = prose(name).split("\n## ")
    linked = re.findall(r"^- \[([^]]+)\]\(#[^)]+\)$", above, re.MULTILINE)
    main = re.findall(r"^## (.+)$", prose(name), re.MULTILINE)
    if name == "docs/words.md":
        main[main.index("Alerts")] = "sensor-fault"  # in place of all of them the list has each kind
    assert set(main) <= set(linked)


@pytest.mark.parametrize("target", ["other.md", "README.md#no-such-heading"])
def test_a_link_that_leads_nowhere_is_found(target, monkeypatch, tmp_path):
    (tmp_path / "README.md").write_text(f"# Here\n\n[there]({target})\n", encoding="utf-8")
    monkeypatch.setitem(globals(), "ROOT", tmp_path)
    with pytest.raises(AssertionError):
        test_every_file_and_heading_a_document_links_to_is_there("README.md")


ROOMS = ("benchmarks", "daemon", "docs", "examples", "hw", "simulations", "systemd", "tests", "web", ".ci")
DATED = ("docs/figures/", "CHANGELOG.md")
"""Documents that tell of a day; what they name may have gone since."""
DATED_FIGURES = {name for name in DOCUMENTS if name.startswith("docs/figures/")}
"""Kept studies; README.md links the newest."""


def paths(name):
    """Return what a document names in backticks or in a tree of files that looks like a path of this repository."""
    inline = re.findall(r"`([\w./-]+)`", prose(name))
    return [word for word in inline if word.startswith(tuple(f"{room}/" for room in ROOMS))]


@pytest.mark.parametrize("name", [name for name in DOCUMENTS if not name.startswith(DATED)])
def test_every_path_a_document_names_is_there(name):
    assert [path for path in paths(name) if not (ROOT / path).exists()] == []


def test_a_path_that_is_not_there_is_found(monkeypatch, tmp_path):
    (tmp_path / "README.md").write_text("See `daemon/gone.py` and `other/thing`.\n", encoding="utf-8")
    monkeypatch.setitem(globals(), "ROOT", tmp_path)
    assert paths("README.md") == ["daemon/gone.py"]
    with pytest.raises(AssertionError):
        test_every_path_a_document_names_is_there("README.md")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_module_a_document_runs_is_there(name):
    for module in re.findall(r"python3? -m ([\w.]+)", read(name)):
        assert importlib.util.find_spec(module) is not None, module


def test_every_document_can_be_reached_from_a_front_door():
    linked = {"README.md", "DEVELOPERS.md"}
    waiting = sorted(linked)
    while waiting:
        name = waiting.pop()
        for target in re.findall(r"\]\(([^)\s#:]+\.md)[^)]*\)", prose(name)):
            found = ((ROOT / name).parent / target).resolve().relative_to(ROOT).as_posix()
            if found not in linked:
                linked.add(found)
                waiting.append(found)
    assert set(DOCUMENTS) - linked - DATED_FIGURES == set()


def test_every_decision_has_its_number_date_and_state_and_stands_in_the_list():
    folder = ROOT / "docs" / "develop" / "decisions"
    files = sorted(folder.glob("[0-9]*.md"))
    assert [path.name[:3] for path in files] == [f"{number:03d}" for number in range(1, len(files) + 1)]
    listed = (folder / "README.md").read_text(encoding="utf-8")
    for path in files:
        text = path.read_text(encoding="utf-8")
        title, date, state = re.match(r"# (.+)\n\n- Date: (.+)\n- State: (.+)\n", text).groups()
        assert title.startswith(path.name[:3] + ". ")
        assert re.fullmatch(r"20\d\d-\d\d-\d\d", date), path.name
        known = re.fullmatch(r"accepted|superseded by (\d{3})", state)
        assert known, f"{path.name}: {state}"
        assert known[1] is None or list(folder.glob(f"{known[1]}-*.md")), path.name
        assert f"[{title}]({path.name})" in listed


def constants():
    """Return what docs/develop/watcher.md says of constants, as (full name, value)."""
    return re.findall(r"^\| `([\w.]+\.[A-Z_]+)` \| ([\d.]+) \|", read("docs/develop/watcher.md"), re.MULTILINE)


@pytest.mark.parametrize(("name", "value"), constants())
def test_a_constant_that_a_document_gives_has_that_value(name, value):
    module, _, constant = name.rpartition(".")
    assert getattr(importlib.import_module(module), constant) == float(value)


def test_the_watcher_gives_constants_at_all():
    assert len(constants()) > 10


@pytest.mark.slow  # over a second
def test_the_outputs_and_pictures_shown_are_what_the_commands_make():
    ran = subprocess.run([sys.executable, str(ROOT / "docs" / "make.py"), "--check"], capture_output=True,
                         text=True, timeout=300, check=False)
    assert (ran.stdout, ran.returncode) == ("", 0), ran.stdout + ran.stderr


def test_the_two_commands_at_the_top_stand_behind_their_marks():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for mark in ("run", "test"):
        line = re.search(rf"<!-- command: {mark} -->\n```sh\n(.+)\n```", text)[1]
        assert line.startswith("python3 -m venv .venv && .venv/bin/pip install -c constraints.txt")


STUDY = """\
| nothing wrong | firings | wakes in 1,000 | firings woken in 1,000 | looks a firing |
|---|--:|--:|--:|--:|
| clean | 2000 | 3.0 | 2.5 | 0.51 |

| row | expected | woke: median | other wakes | floor |
|---|---|--:|--:|--:|
| lid | sudden-drop | 2.0 | 7 | |
| open | sensor-fault | 3.1 | 12 | |

Required alerts found: 97 % of 460; serious ones at rank wake: 96 % of 240; best name: 72 %.
"""


def make():
    """Return docs/make.py as a module."""
    return loaded(ROOT / "docs" / "make.py")


def test_the_readme_says_how_often_clean_firings_woke_by_the_newest_study(tmp_path):
    study = tmp_path / "study-2031-01-02.md"
    study.write_text(STUDY, encoding="utf-8")
    told = " ".join(make().studied(study))
    assert "of 2031-01-02, 5 of 2000 ordinary firings with nothing wrong woke somebody all the same" in told
    assert "(2 in 1,000; the aim is 1)" in told
    assert "Of 460 things that went wrong and had to be told, 97 % were told;" in told
    assert "of 240 serious ones, 96 % woke." in told
    assert "19 wakes that nobody had asked for" in told  # 7 and 12, counted from the table
    assert f"docs/figures/{make().newest_study().name}" in read("README.md")


@pytest.mark.parametrize("text", ["nothing of the kind\n", STUDY.replace("other wakes", "else")])
def test_a_study_without_its_figures_is_refused(tmp_path, text):
    study = tmp_path / "study-2031-01-02.md"
    study.write_text(text, encoding="utf-8")
    with pytest.raises(SystemExit, match="holds no"):
        make().studied(study)


def test_the_photographs_of_the_page_are_small_and_say_which_version_they_show():
    assert re.search(r"<!-- screens -->\n\*Taken from version [\d.]+, commit \w+ of [\d-]+\.\*\n", read("README.md"))
    for name in make().PHOTOGRAPHS:
        assert (ROOT / name).stat().st_size < 150_000
        assert f'src="{name}"' in read("README.md")
