"""The Debian package's own files. That it installs, works and goes away again is tried by packaging/deb/try."""

import re
import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, requires
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DEB = ROOT / "packaging" / "deb"
MAINTAINER_SCRIPTS = ("preinst", "postinst", "prerm", "postrm")
SCRIPTS = (*MAINTAINER_SCRIPTS, "build", "try", "../../.ci/renew-hashes", "../../.ci/renew-constraints")


def run(name, *arguments):
    return subprocess.run(["/bin/sh", str(DEB / name), *arguments], capture_output=True, text=True, timeout=60,
                          check=False)


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script_ends_at_its_first_failure(name):
    text = (DEB / name).read_text(encoding="utf-8")
    assert re.search(r"^set -e", text, re.MULTILINE)
    shell = text.split("\n", 1)[0].removeprefix("#!")
    subprocess.run([shell, "-n", str(DEB / name)], check=True, timeout=60)


@pytest.mark.parametrize("name", SCRIPTS)
def test_shellcheck_has_nothing_to_say(name):
    if not shutil.which("shellcheck"):
        pytest.skip("shellcheck is not installed here")
    # debconf's own script is not ours to check.
    ran = subprocess.run(["shellcheck", "-e", "SC1091", str(DEB / name)], capture_output=True, text=True, timeout=60,
                         check=False)
    assert ran.stdout == ""


@pytest.mark.parametrize("name", ["preinst", "prerm", "postrm"])
def test_a_call_that_no_policy_knows_is_refused(name):
    ran = run(name, "dance")
    assert ran.returncode == 1
    assert "'dance' is not known" in ran.stderr


@pytest.mark.parametrize("call", [
    ("preinst", "abort-upgrade", "0.0.9"), ("prerm", "failed-upgrade", "0.0.9"), ("postrm", "upgrade", "0.2.0"),
    ("postrm", "failed-upgrade", "0.0.9"), ("postrm", "abort-upgrade", "0.0.9"), ("postrm", "disappear", "x", "1"),
])
def test_calls_that_ask_for_nothing_do_nothing(call):
    ran = run(*call)
    assert ran.returncode == 0
    assert ran.stdout + ran.stderr == ""


@pytest.mark.parametrize("name", ["postinst", "postrm"])
def test_every_unit_of_the_repository_is_looked_after(name):
    # One without [Install] is started by another.
    # Those of further kilns are templates, which the owner enables.
    units = {path.name for path in (ROOT / "systemd").glob("lehrling-*.*")
             if "[Install]" in path.read_text(encoding="utf-8") and "@" not in path.name}
    said = re.search(r'^services="(.*)"$', (DEB / name).read_text(encoding="utf-8"), re.MULTILINE)
    assert said is not None
    assert set(said[1].split()) == units


def test_the_question_about_the_record_is_answered_no_unless_somebody_says_yes():
    template = (DEB / "templates").read_text(encoding="utf-8")
    assert "Type: boolean" in template
    assert "Default: false" in template


@pytest.fixture
def notices(tmp_path):
    """Return a function that collects the notices of one invented part; it gives code, copyright and folder."""
    def collect(metadata, texts=()):
        info = tmp_path / "site" / "glazelib-1.2.dist-info"
        info.mkdir(parents=True)
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: glazelib\nVersion: 1.2\n{metadata}")
        (info / "RECORD").write_text("".join(f"{info.name}/{name},,\n" for name in texts))
        for name in texts:
            (info / name).write_text("Do as you like.")
        out = tmp_path / "out"
        ran = subprocess.run([sys.executable, str(DEB / "notices.py"), str(tmp_path / "site"), str(ROOT / "LICENSE"),
                              str(out)], capture_output=True, text=True, timeout=60, check=False)
        return ran, (out / "copyright").read_text(encoding="utf-8"), out / "licences" / "glazelib"
    return collect


def test_a_part_is_named_with_version_licence_and_text(notices):
    ran, copyright_text, folder = notices("License-Expression: MIT\n", ["LICENSE"])
    assert ran.returncode == 0
    assert "\nglazelib 1.2: MIT\n" in copyright_text
    assert (folder / "LICENSE").read_text() == "Do as you like."


def test_lehrling_s_own_licence_comes_first(notices):
    _, copyright_text, _ = notices("License-Expression: MIT\n")
    assert "Permission is hereby granted" in copyright_text.split("also carries")[0]


def test_a_part_that_only_carries_a_text_points_to_it(notices):
    ran, copyright_text, _ = notices("License: UNKNOWN\n", ["COPYING"])
    assert ran.returncode == 0
    assert "glazelib 1.2: as its text says" in copyright_text


def test_a_part_that_says_nothing_of_a_licence_ends_the_build(notices):
    ran, _, _ = notices("License: UNKNOWN\n")
    assert ran.returncode == 1
    assert "glazelib" in ran.stderr


def plain(requirement):
    """Return the name of what is required, as constraints.txt writes it."""
    return re.sub(r"[-_.]+", "-", re.match(r"[A-Za-z0-9._-]+", requirement)[0]).lower()


def hashed():
    """Return what the package is built of: the hashes of each name and version."""
    text = (DEB / "hashes.txt").read_text(encoding="utf-8").replace("\\\n", "")
    lines = [line.split() for line in text.splitlines() if not line.startswith("#")]
    return {words[0]: [word.removeprefix("--hash=sha256:") for word in words[1:]] for words in lines}


def test_whatever_goes_into_the_package_is_known_by_its_hash_and_in_the_tested_version():
    tested = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    for pin, hashes in hashed().items():
        assert pin in tested
        assert hashes
        assert all(re.fullmatch("[0-9a-f]{64}", digest) for digest in hashes), pin
        assert len(set(hashes)) == len(hashes)


def test_nothing_that_the_package_needs_lacks_a_hash():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    names = {pin.split("==")[0] for pin in hashed()}
    assert {plain(wanted) for wanted in (*project["dependencies"], *extras["pi"], *extras["mqtt"])} <= names
    for name in names:
        try:
            needed = [need for need in requires(name) or () if ";" not in need]
        except PackageNotFoundError:
            continue  # a part for the Pi alone
        assert {plain(need) for need in needed} - {"pip"} <= names, name


def test_the_builder_takes_no_file_whose_hash_it_does_not_know():
    text = (DEB / "build").read_text(encoding="utf-8")
    commands = re.findall(r"^.*\bpip\[@\].*$", text, re.MULTILINE)
    downloads = [command for command in commands if "--no-deps" not in command or "hashes.txt" in command]
    assert len(commands) == 3
    assert downloads == ['"${pip[@]}" install -q --no-compile --target "$site" "${wheels[@]}" --no-deps'
                         ' --require-hashes -r "$here/hashes.txt"']
