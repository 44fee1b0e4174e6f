"""Root leaves no files in the record of the user that the services run as."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from daemon.commands.folders import DATA, refuse_root
from daemon.errors import BadInput

SERVICE = 4321


def test_root_is_sent_to_the_user_whose_folder_it_is(tmp_path):
    if os.geteuid() == 0:
        os.chown(tmp_path, SERVICE, -1)
    with pytest.raises(BadInput, match=f"sudo -u '#{tmp_path.stat().st_uid}' lehrling"):
        refuse_root(tmp_path, 0)
    refuse_root(tmp_path, tmp_path.stat().st_uid)


def test_root_makes_no_record_where_the_services_keep_theirs(monkeypatch, tmp_path):
    monkeypatch.setattr(Path, "exists", lambda path: False)
    with pytest.raises(BadInput, match=r"no such folder\. Set Lehrling up as docs/install.md says"):
        refuse_root(DATA, 0)
    refuse_root(tmp_path / "studio", 0)  # one that was named is made


def test_a_folder_of_roots_own_is_roots():
    refuse_root(Path("/"), 0)
