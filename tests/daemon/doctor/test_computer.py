"""Clock, disk and wear, from a kernel of files."""

import os
from types import SimpleNamespace

import pytest

from daemon.doctor import computer
from daemon.doctor.finding import State


def test_a_clock_that_was_set_by_a_chip_alone_says_so(box):
    box.kernel("sys/class/rtc/rtc0/since_epoch", "1")
    found = computer.clock(box.computer, box.wall, is_set=True)
    assert found[0].said == "It is set, by the clock that goes on without power."


def test_a_set_clock_names_what_set_it(box):
    box.kernel("run/systemd/timesync/synchronized", "")
    found = computer.clock(box.computer, box.wall, is_set=True)
    assert (found[0].state, found[0].said) == (State.GOOD, "It is set, by systemd-timesyncd.")


def test_a_clock_that_nothing_set_is_to_be_mended_unless_a_battery_carries_it(box):
    assert computer.clock(box.computer, box.wall, is_set=False)[0].state is State.MEND
    box.kernel("sys/class/rtc/rtc0/name", "rtc")
    found = computer.clock(box.computer, box.wall, is_set=False)
    assert [one.state for one in found] == [State.NOTE, State.GOOD]


def test_a_clock_of_1970_is_wrong_even_if_it_is_called_set(box):
    found = computer.clock(box.computer, box.wall.replace(year=1970), is_set=True)[0]
    assert (found.state, found.said) == (State.MEND, "The clock says 1970.")


@pytest.mark.parametrize(("off_s", "is_set", "state", "said"), [
    (3, True, State.GOOD, "agrees with the time that is set"), (-60, True, State.GOOD, "agrees"),
    (3600, True, State.MEND, "it is wrong by 1 h 00 min"), (-10**9, True, State.MEND, "wrong by more than a day"),
    (3600, False, State.GOOD, "Nothing has set the time yet")])
def test_a_clock_chip_is_compared_with_a_clock_that_is_set(box, off_s, is_set, state, said):
    box.kernel("sys/class/rtc/rtc0/since_epoch", f"{int(box.wall.timestamp()) + off_s}\n")
    found = computer.clock(box.computer, box.wall, is_set=is_set)[1]
    assert found.state is state
    assert said in found.said
    assert ("coin cell" in found.do) == (state is State.MEND)


def on_disk(box, life_time):
    """Give the data folder's disk the estimate of an eMMC, laid out as the kernel does: partition inside disk."""
    device = os.stat(box.data).st_dev
    disk = box.root / "sys/devices/mmc0/block/mmcblk0"
    (disk / "mmcblk0p2").mkdir(parents=True)
    box.kernel("sys/devices/mmc0/block/mmcblk0/device/life_time", life_time)
    link = box.root / f"sys/dev/block/{os.major(device)}:{os.minor(device)}"
    link.parent.mkdir(parents=True)
    link.symlink_to(disk / "mmcblk0p2")


@pytest.mark.parametrize(("life_time", "state", "share"), [
    ("0x02 0x01\n", State.GOOD, "20 %"), ("0x01 0x09\n", State.MEND, "90 %"), ("0x0b 0x0b\n", State.MEND, "100 %"),
])
def test_an_emmc_tells_how_worn_it_is_and_the_worse_half_counts(box, life_time, state, share):
    on_disk(box, life_time)
    found = computer.disk(box.computer, box.data)[1]
    assert found.state is state
    assert share in found.said


@pytest.mark.parametrize("life_time", ["0x00 0x00\n", "nonsense\n", ""])
def test_a_disk_that_does_not_tell_is_not_known(box, life_time):
    on_disk(box, life_time)
    found = computer.disk(box.computer, box.data)[1]
    assert found.state is State.NOTE
    assert "Not known" in found.said


def test_a_card_without_an_estimate_is_not_known(box):
    assert computer.disk(box.computer, box.data)[1].state is State.NOTE


def test_little_room_and_no_writing_are_to_be_mended(box, monkeypatch):
    monkeypatch.setattr(computer.shutil, "disk_usage", lambda folder: SimpleNamespace(free=499_999_999))
    found = computer.disk(box.computer, box.data)[0]
    assert (found.state, found.said) == (State.MEND, "Only 0.5 GB free.")
    monkeypatch.setattr(computer.os, "statvfs", lambda folder: SimpleNamespace(f_flag=os.ST_RDONLY))
    assert "takes no writing" in computer.disk(box.computer, box.data)[0].said
