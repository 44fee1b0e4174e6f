"""``lehrling doctor`` on the command line."""

import json
import os

import pytest

from daemon.cli import main


@pytest.fixture
def said(tmp_path, capsys):
    def run(*words):
        code = main(["doctor", "--data", str(tmp_path), "--run", str(tmp_path), "--leave-probe", *words])
        told = capsys.readouterr()
        return code, told.out, told.err

    return run


def test_each_part_has_a_line_and_what_to_do_below_it(said):
    code, out, _ = said()
    assert code == 1
    assert "MEND  channels              There is none, so no phone rings.\n" in out
    assert "\n                            Choose on the page" in out
    assert "things to mend. This is a helper, not a safety device.\n" in out


def test_json_is_complete_whatever_the_exit_code(said):
    code, out, err = said("--json")
    found = json.loads(out)
    assert (code, err, found["good"]) == (1, "", False)
    assert {"settings", "watch", "probe", "sounder", "channels", "page", "clock", "disk", "wear of the disk",
            "record", "newest copy", "copy elsewhere", "versions"} <= {row["part"] for row in found["findings"]}
    assert {row["state"] for row in found["findings"]} <= {"good", "note", "mend"}


def test_the_result_is_kept_for_the_page(said, tmp_path):
    said()
    assert json.loads((tmp_path / "doctor.json").read_text())["good"] is False


def test_a_folder_of_another_user_is_refused_with_the_command_to_type(said, tmp_path, monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    os.chown(tmp_path, 12345, -1) if os.getuid() == 0 else pytest.skip("only root can give a folder away")
    code, _, err = said()
    assert code == 2
    assert "sudo -u '#12345' lehrling" in err


def test_a_missing_folder_is_one_sentence(capsys, tmp_path):
    assert main(["doctor", "--data", str(tmp_path / "none")]) == 2
    assert "no such folder" in capsys.readouterr().err
    assert main(["doctor", "--data", __file__]) == 2
    assert "is a file, not a folder." in capsys.readouterr().err
