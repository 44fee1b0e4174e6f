"""How the house is laid out: who owns its names, what is shipped, what no file may hold."""

import re
import subprocess
import tomllib
from importlib.metadata import entry_points, packages_distributions
from pathlib import Path

import pytest

from daemon.subcommand import Command

ROOT = Path(__file__).parents[1]
NAMES = ("daemon", "web", "hw", "simulations")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))

REGISTRIES = re.compile(r"pypi\.(org|python)|pythonhosted\.|npmjs\.|crates\.i|anaconda\.o")
MACHINE_PATHS = re.compile(r"(?<![\w.~/-])/(root|work|tmp)/\w")


def committed():
    """Return the files git keeps, or, outside a clone, what a clone would hold of text."""
    try:
        ran = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, timeout=60,
                             check=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not a git clone")
    return [ROOT / name for name in ran.stdout.split("\0") if name]


@pytest.mark.parametrize("name", NAMES)
def test_each_import_name_has_one_owner(name):
    # Another distribution with a package of the same name would overwrite ours, or be removed with it.
    assert set(packages_distributions()[name]) == {"lehrling"}


def test_every_package_is_shipped():
    found = {str(path.parent.relative_to(ROOT)).replace("/", ".")
             for name in NAMES for path in (ROOT / name).rglob("__init__.py")}
    assert set(PROJECT["tool"]["setuptools"]["packages"]) == found


def test_every_module_lies_in_a_package():
    for name in NAMES:
        for path in (ROOT / name).rglob("*.py"):
            assert (path.parent / "__init__.py").exists(), path


def test_no_room_is_crowded():
    rooms = {path.parent for name in (*NAMES, "tests", "benchmarks", "docs") for path in (ROOT / name).rglob("*.py")}
    crowded = {str(room.relative_to(ROOT)): count for room in rooms if (count := len(list(room.glob("*.py")))) > 20}
    assert crowded == {}


def test_tests_are_no_package():
    # With one, tests/daemon would stand in the way of daemon.
    assert list((ROOT / "tests").rglob("__init__.py")) == []


@pytest.mark.parametrize("entry", sorted(entry_points(group="lehrling.commands")), ids=lambda entry: entry.name)
def test_every_command_loads(entry):
    assert isinstance(entry.load(), Command)


@pytest.mark.parametrize("entry", sorted([*entry_points(group="lehrling.probes"),
                                          *entry_points(group="lehrling.reports")]), ids=lambda entry: entry.name)
def test_every_probe_opener_and_report_loads(entry):
    assert callable(entry.load())


def test_what_is_installed_is_what_is_declared():
    for group, declared in PROJECT["project"]["entry-points"].items():
        assert {entry.name: entry.value for entry in entry_points(group=group)} == declared


def test_no_file_names_a_package_registry_or_a_path_of_some_machine():
    found = []
    for path in committed():
        try:
            text = path.read_text(encoding="utf-8")
        except (UnicodeDecodeError, FileNotFoundError):
            continue
        for number, line in enumerate(text.splitlines(), start=1):
            if REGISTRIES.search(line) or MACHINE_PATHS.search(line):
                found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:100]}")
    assert found == []


def test_constraints_hold_names_and_versions_only_and_all_that_is_needed():
    pins = {}
    for line in (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            assert re.fullmatch(r"[a-z0-9-]+==[0-9][0-9a-z.+!]*", line), line
            pins[line.split("==")[0]] = line.split("==")[1]
    extras = PROJECT["project"]["optional-dependencies"]
    for wanted in [*PROJECT["project"]["dependencies"], *extras["pi"], *extras["test"]]:
        name = re.match(r"[A-Za-z0-9._-]+", wanted)[0]
        assert re.sub(r"[-_.]+", "-", name).lower() in pins
