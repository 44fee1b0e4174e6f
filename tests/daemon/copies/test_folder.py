"""A stick is found by its label, wherever it is mounted."""

from __future__ import annotations

import os

import pytest

from daemon.copies.folder import stick
from daemon.copies.place import NotTaken

MOUNTS = r"""21 26 0:20 / /proc rw,nosuid shared:5 - proc proc rw
26 1 179:2 / / rw,noatime shared:1 - ext4 /dev/mmcblk0p2 rw
31 26 8:1 /photos /mnt/part rw shared:8 - vfat /dev/sda1 rw
32 26 8:1 / /media/my\040stick rw shared:9 - vfat /dev/sda1 rw
"""


@pytest.fixture
def root(tmp_path):
    (tmp_path / "proc/self").mkdir(parents=True)
    (tmp_path / "proc/self/mountinfo").write_text(MOUNTS)
    return tmp_path


def found(root, label, devices):
    """Ask for a label; ``devices`` is each label, as udev writes it, with its device's numbers."""
    def number(path):
        assert path.parent == root / "dev/disk/by-label"
        if path.name not in devices:
            raise FileNotFoundError
        return os.makedev(*devices[path.name])

    return str(stick(label, "the stick", root=root, number=number))


def test_it_is_where_the_whole_of_it_is_mounted(root):
    assert found(root, "KILN", {"KILN": (8, 1)}) == "/media/my stick"


def test_a_label_with_a_blank_is_spelt_as_udev_spells_it(root):
    assert found(root, "MY KILN", {r"MY\x20KILN": (8, 1)}) == "/media/my stick"


def test_one_that_is_not_in_is_told_apart_from_one_that_is_not_mounted(root):
    with pytest.raises(NotTaken, match="The stick is not in") as out:
        found(root, "KILN", {})
    assert out.value.do.startswith("Put it in")
    with pytest.raises(NotTaken, match="in, but not mounted") as loose:
        found(root, "KILN", {"KILN": (8, 17)})
    assert "fstab" in loose.value.do
