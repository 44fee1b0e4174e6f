"""Files and folders that can't serve for what the settings name them are told, and those that can are not."""

from __future__ import annotations

import pytest

from daemon.settings import named_files as module
from daemon.settings.config import parse_config
from daemon.settings.named_files import doubts


@pytest.fixture
def told(tmp_path):
    """Return a function that says what is doubted of some settings."""
    data = tmp_path / "data"
    data.mkdir()
    return lambda text: doubts(parse_config(text, "lehrling.toml", data), data)


def test_restic_without_its_file_or_itself_is_doubted(told, tmp_path, monkeypatch):
    place = '[copies]\nelsewhere = ["restic:offsite"]\n'
    monkeypatch.setattr(module.shutil, "which", lambda name: None)
    (no_file, no_tool) = told(place)
    assert no_file[0] == no_tool[0] == "copies.elsewhere"
    assert f"There is no {tmp_path / 'data' / 'offsite.restic'} yet." in no_file[1]
    assert "restic is not installed. Install it: sudo apt install restic." in no_tool[1]
    (tmp_path / "data" / "offsite.restic").write_text("RESTIC_REPOSITORY=x\n")
    monkeypatch.setattr(module.shutil, "which", lambda name: f"/usr/bin/{name}")
    assert told(place) == []


def test_rclone_without_its_remotes_is_doubted(told, tmp_path, monkeypatch):
    monkeypatch.setattr(module.shutil, "which", lambda name: f"/usr/bin/{name}")
    place = '[copies]\nelsewhere = ["rclone:nas:kiln"]\n'
    assert "rclone.conf yet." in told(place)[0][1]
    (tmp_path / "data" / "rclone.conf").write_text("[nas]\n")
    assert told(place) == []


def test_a_folder_on_the_records_own_disk_or_inside_its_folder_is_doubted(told, tmp_path):
    (tmp_path / "copies").mkdir()
    (tmp_path / "file").touch()
    for name, why in (("copies", "lies on the same disk as the record"), ("data/copies", "inside the data folder"),
                      ("none", "There is no"), ("file", "is a file. Name a folder.")):
        ((key, said),) = told(f'[copies]\nelsewhere = ["{tmp_path / name}"]\n')
        assert (key, why in said) == ("copies.elsewhere", True), said


def test_a_folder_on_another_disk_is_in_no_doubt(told):
    assert told('[copies]\nelsewhere = ["/proc/self"]\n') == []  # a file system of its own, wherever the record is


def test_a_passcode_file_that_is_a_folder_is_doubted(told, tmp_path):
    (tmp_path / "data" / "code").mkdir()
    assert told('[page]\npasscode_file = "code"\n') == [
        ("page.passcode_file", f"{tmp_path / 'data' / 'code'} is a folder. Name a file.")]


def test_another_kilns_folder_that_is_not_there_or_is_a_file_is_doubted(told, tmp_path):
    (tmp_path / "run").mkdir()
    (tmp_path / "file").touch()
    (first, second) = told(f'[page]\nothers = ["{tmp_path}/none", "{tmp_path}/file", "{tmp_path}/run"]\n')
    assert "none yet. Until it is there, that kiln is not shown." in first[1]
    assert "file is a file. Name the folder" in second[1]
