"""What is told to be typed, on a computer with services and in somebody's own folder; and where the documents lie."""

from __future__ import annotations

import os
import pwd
from types import SimpleNamespace

import pytest

from daemon import installed


@pytest.fixture
def owned_by(monkeypatch, tmp_path):
    """Return a function that gives a folder of a user with a number and a name."""
    def _owned_by(uid, name="lehrling"):
        real = os.stat_result
        monkeypatch.setattr(type(tmp_path), "stat", lambda self, **_: real((0o40750, 1, 1, 2, uid, uid, 0, 0, 0, 0)))
        monkeypatch.setattr(pwd, "getpwuid", lambda number: SimpleNamespace(pw_name=name))
        return tmp_path

    return _owned_by


def test_where_services_have_the_folder_commands_are_typed_as_their_user(owned_by):
    folder = owned_by(998)
    assert installed.typed("web --set-passcode", folder) == "sudo -u lehrling lehrling web --set-passcode"
    assert installed.started("deliver", folder) == "sudo systemctl start lehrling-deliver"
    assert installed.typed_in("Take one: lehrling copies make. If not: lehrling doctor --warm-hand", folder) == (
        "Take one: sudo -u lehrling lehrling copies make. If not: sudo -u lehrling lehrling doctor --warm-hand")


@pytest.mark.parametrize("said", [
    "Ask: sudo -u lehrling lehrling doctor", "sudo lehrling copies restore", "sudo systemctl restart lehrling-daemon",
    "Does lehrling daemon watch?", "Is /usr/bin/lehrling settings there?", "Lehrling watches."])
def test_what_says_already_as_whom_or_is_no_command_stays(owned_by, said):
    assert installed.typed_in(said, owned_by(998)) == said


@pytest.mark.parametrize("uid", [0, 1000])
def test_in_a_folder_of_ones_own_commands_are_typed_as_they_are(owned_by, uid):
    folder = owned_by(uid, "somebody")
    assert installed.typed("doctor", folder) == "lehrling doctor"
    assert installed.started("daemon", folder) == "lehrling daemon"
    assert installed.typed_in("See: lehrling doctor", folder) == "See: lehrling doctor"
    assert installed.as_owner("doctor", folder) == "sudo -u somebody lehrling doctor"


def test_a_folder_that_is_not_there_belongs_to_nobody(tmp_path):
    assert installed.service_user(tmp_path / "none") == ""
    assert installed.as_owner("doctor", tmp_path / "none") == "sudo -u lehrling lehrling doctor"


def test_the_documents_of_the_package_come_before_those_beside_the_program(monkeypatch, tmp_path):
    assert (installed.OWN_DOCUMENTS / "install.md").is_file()
    assert installed.documents() in (installed.OWN_DOCUMENTS, installed.PACKAGE_DOCUMENTS)
    monkeypatch.setattr(installed, "PACKAGE_DOCUMENTS", tmp_path)
    assert installed.documents() == installed.OWN_DOCUMENTS
    (tmp_path / "install.md").write_text("# Install", encoding="utf-8")
    assert installed.documents() == tmp_path
    monkeypatch.setattr(installed, "PACKAGE_DOCUMENTS", tmp_path / "no")
    monkeypatch.setattr(installed, "OWN_DOCUMENTS", tmp_path / "no")
    assert installed.documents() is None
