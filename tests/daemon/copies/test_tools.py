"""Copies by rclone and restic: with stand-ins for their failures, and with the real ones where they are installed."""

from __future__ import annotations

import shutil
import sys
import time
from pathlib import Path

import pytest

from daemon.copies import tool
from daemon.copies.place import NotTaken
from daemon.copies.rclone import RclonePlace
from daemon.copies.restic import ResticPlace
from daemon.copies.take import digest, take

RCLONE_STAND_IN = """
import json, os, pathlib, shutil, sys
words = sys.argv[1:]
assert words[0] == "--config" and pathlib.Path(words[1]).name == "rclone.conf"
action = next(word for word in words if word in ("lsf", "lsjson", "copy", "copyto", "deletefile"))
home = pathlib.Path(os.environ["HOME"])
where = lambda text: home / text.split(":", 1)[1] if text.startswith("nas:") else pathlib.Path(text)
last, before = where(words[-1]), where(words[-2])
if action in ("lsf", "lsjson") and not last.is_dir():
    sys.exit(3)
if action == "lsf":
    print("\\n".join(path.name + "/" for path in last.iterdir() if path.is_dir()))
elif action == "lsjson":
    print(json.dumps([{"Path": str(path.relative_to(last)), "Size": path.stat().st_size}
                      for path in last.rglob("*") if path.is_file()]))
elif action == "deletefile":
    last.unlink()
elif action == "copyto":
    last.parent.mkdir(parents=True, exist_ok=True)
    body = bytearray(before.read_bytes())
    if os.path.exists(os.environ["HOME"] + "/flip") and words[-1].startswith("nas:"):
        body[len(body) // 2] ^= 1
    last.write_bytes(body)
elif action == "copy":
    last.mkdir(parents=True, exist_ok=True)
    for name in pathlib.Path(words[words.index("--files-from-raw") + 1]).read_text().split():
        shutil.copy(before / name, last / name)
"""


@pytest.fixture
def installed(tmp_path, monkeypatch):
    """Return a function that installs a stand-in for a tool, and nothing else; its home is where it keeps things."""
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    (tmp_path / "bin").mkdir()
    (tmp_path / "home").mkdir()

    def install(name, program):
        path = tmp_path / "bin" / name
        path.write_text(f"#!{sys.executable}\n{program}")
        path.chmod(0o755)
        return tmp_path / "home"

    return install


def rclone(record):
    (record.parent / "rclone.conf").write_text("[nas]\ntype = local\n")
    return RclonePlace("rclone’s nas:", "nas:", record.parent)


def restic(record):
    file = record.parent / "offsite.restic"
    file.write_text(f"# ours\nRESTIC_REPOSITORY={record.parent.parent}/repository\nRESTIC_PASSWORD=invented\n")
    file.chmod(0o600)
    return ResticPlace("restic’s offsite", file)


@pytest.mark.slow
def test_a_copy_by_rclone_is_read_back_and_thinned_out(record, copy_of, pictures, installed):
    home = installed("rclone", RCLONE_STAND_IN)
    (home / "holiday.jpg").write_text("mine")
    place = rclone(record)
    copies = []
    for night in range(6):
        copies.append(copy_of(night))
        take(place, copies[-1], pictures)
    [folder] = (home / "lehrling-copies").iterdir()
    assert sorted(path.name for path in folder.glob("*.db")) == [copies[0].name, *(copy.name for copy in copies[3:])]
    assert sorted(path.name for path in (folder / "photographs").iterdir()) == [path.name for path in pictures]
    assert (home / "holiday.jpg").read_text() == "mine"


def test_a_bit_flipped_on_the_way_is_found_by_reading_back(record, copy_of, installed):
    home = installed("rclone", RCLONE_STAND_IN)
    (home / "flip").touch()
    with pytest.raises(NotTaken, match="Rclone’s nas: does not keep what is written"):
        take(rclone(record), copy_of(), [])
    assert list(home.rglob("*.db")) == []


@pytest.mark.parametrize("make", [rclone, restic])
def test_a_tool_that_is_not_installed_is_named_with_how_to_install_it(record, installed, make):
    with pytest.raises(NotTaken, match="is not installed") as caught:
        make(record).marks()
    assert caught.value.do.startswith("Install it: sudo apt install r")


@pytest.mark.parametrize(("name", "make"), [("rclone", rclone), ("restic", restic)])
def test_a_tool_that_fails_is_told_with_its_last_words(record, installed, name, make):
    installed(name, "import sys; print('Fatal: wrong password or no key found', file=sys.stderr); sys.exit(12)")
    with pytest.raises(NotTaken, match=f"{name} says: Fatal: wrong password"):
        make(record).marks()


@pytest.mark.parametrize(("name", "make"), [("rclone", rclone), ("restic", restic)])
def test_an_answer_that_makes_no_sense_is_no_traceback(record, installed, name, make):
    installed(name, "print('[{\"Path\": 3}, 7, {\"paths\": 5, \"id\": 3}')")
    with pytest.raises(NotTaken, match="makes no sense"):
        make(record).stored("kiln-12345678")


def test_one_that_hangs_is_ended_with_what_it_started(installed, tmp_path, monkeypatch):
    installed("rclone", "import os, time\nif os.fork() == 0:\n    os.close(1)\n    os.close(2)\n"
              f"    open('{tmp_path}/child', 'w').write(str(os.getpid()))\ntime.sleep(60)")
    monkeypatch.setattr(tool, "LONGEST_S", 0.0)
    for longest_s in (2.0, 10.0, 50.0):  # until it has begun its child, on a crowded machine too
        with pytest.raises(NotTaken, match="too slow: rclone took over 0 min"):
            tool.call("rclone’s nas:", ["rclone"], {}, longest_s=longest_s)
        if (tmp_path / "child").exists():
            break
    child = int((tmp_path / "child").read_text())
    assert any(is_gone(child) for _ in range(200))


def is_gone(process):
    """Return whether a process has ended; wait a moment where it has not."""
    try:
        state = Path(f"/proc/{process}/stat").read_text().split()[2]
    except (FileNotFoundError, ProcessLookupError):
        return True
    time.sleep(0.02)
    return state == "Z"


def test_nothing_of_our_own_surroundings_is_handed_on(installed, monkeypatch):
    monkeypatch.setenv("SECRET_OF_OURS", "x")
    installed("restic", "import os; print(sorted(os.environ))")
    said = tool.call("x", ["restic"], {"RESTIC_PASSWORD": "y"})
    assert "SECRET_OF_OURS" not in said
    assert "RESTIC_PASSWORD" in said


@pytest.mark.parametrize(("text", "said"), [
    ("RESTIC_PASSWORD=x\n", "lacks RESTIC_REPOSITORY"), ("", "lacks RESTIC_REPOSITORY and RESTIC_PASSWORD"),
    ("RESTIC_REPOSITORY=x\nLD_PRELOAD=y\n", "is no variable"), ("PATH=/tmp\n", "is no variable")])
def test_a_file_of_variables_that_lacks_something_is_refused(record, text, said):
    place = restic(record)
    (record.parent / "offsite.restic").write_text(text)
    with pytest.raises(NotTaken, match=said):
        place.marks()


def test_a_password_that_everybody_may_read_is_refused(record):
    place = restic(record)
    (record.parent / "offsite.restic").chmod(0o644)
    with pytest.raises(NotTaken, match=r"may read .* and it holds a password"):
        place.marks()


def there_is(name):
    """Skip where a tool is not installed; the path of the machine's own is used otherwise."""
    return pytest.mark.skipif(not shutil.which(name), reason=f"{name} is not installed here: apt install {name}")


@pytest.mark.slow
@there_is("rclone")
def test_the_real_rclone_takes_reads_back_and_thins_out(record, copy_of, pictures, tmp_path):
    (record.parent / "rclone.conf").write_text(f"[nas]\ntype = alias\nremote = {tmp_path}/nas\n")
    place = RclonePlace("rclone’s nas:", "nas:kiln", record.parent)
    copies = []
    for night in range(5):
        copies.append(copy_of(night))
        take(place, copies[-1], pictures)
    [mark] = place.marks()
    stored = place.stored(mark)
    assert sorted(stored.copies) == [copies[0].name, *(copy.name for copy in copies[2:])]
    assert sorted(stored.pictures) == [path.name for path in pictures]
    back = place.read_back(mark, copies[-1].name, tmp_path)
    assert digest(back) == digest(copies[-1])
    with pytest.raises(NotTaken, match="There is no lehrling-000009"):
        place.read_back(mark, "lehrling-000009-2026-03-01T042000Z.db", tmp_path)


@pytest.mark.slow
@there_is("restic")
def test_the_real_restic_takes_reads_back_and_thins_out(record, copy_of, pictures, tmp_path, monkeypatch):
    monkeypatch.setenv("RESTIC_CACHE_DIR", str(tmp_path / "cache"))
    place = restic(record)
    tool.call("restic’s", ["restic", "init"], {"RESTIC_REPOSITORY": f"{tmp_path}/repository",
                                               "RESTIC_PASSWORD": "invented"})
    copies = [copy_of(night) for night in range(2)]
    take(place, copies[0], pictures[:1])
    take(place, copies[1], pictures)
    [mark] = place.marks()
    stored = place.stored(mark)
    assert sorted(stored.copies) == [copy.name for copy in copies]
    assert sorted(stored.pictures) == [path.name for path in pictures]
    assert digest(place.read_back(mark, copies[0].name, tmp_path)) == digest(copies[0])
    assert digest(place.read_back(mark, pictures[1].name, tmp_path)) == digest(pictures[1])
    place.drop(mark, [copies[0].name])
    assert list(place.stored(mark).copies) == [copies[1].name]
