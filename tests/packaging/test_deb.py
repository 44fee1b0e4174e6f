"""The Debian package's own files. That it installs, works and goes away again is tried by packaging/deb/try."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DEB = ROOT / "packaging" / "deb"
MAINTAINER_SCRIPTS = ("preinst", "postinst", "prerm", "postrm")
SCRIPTS = (*MAINTAINER_SCRIPTS, "build", "try")


def run(name, *arguments):
    return subprocess.run(["/bin/sh", str(DEB / name), *arguments], capture_output=True, text=True, timeout=20,
                          check=False)


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_script_ends_at_its_first_failure(name):
    text = (DEB / name).read_text(encoding="utf-8")
    assert re.search(r"^set -e", text, re.MULTILINE)
    shell = text.split("\n", 1)[0].removeprefix("#!")
    subprocess.run([shell, "-n", str(DEB / name)], check=True, timeout=20)


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
    units = {path.name for path in (ROOT / "systemd").glob("lehrling-*.*")
             if "[Install]" in path.read_text(encoding="utf-8")}
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
                              str(out)], capture_output=True, text=True, timeout=30, check=False)
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
