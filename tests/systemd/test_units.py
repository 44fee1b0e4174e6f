"""The units as files: what systemd makes of them, and the keys a quiet night depends on."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "systemd"
SERVICES = ("lehrling-daemon.service", "lehrling-web.service", "lehrling-deliver.service")
UNITS = (*SERVICES, "lehrling-doctor.service", "lehrling-copies.service")
TIMER = "lehrling-copies.timer"
OF_ONE_KILN = (
    ("/lib/lehrling ", "/lib/lehrling-%i "), ("/run/lehrling\n", "/run/lehrling-%i\n"),
    ("Directory=lehrling\n", "Directory=lehrling-%i\n"),
    ("CacheDirectory=lehrling-copies", "CacheDirectory=lehrling-copies-%i"),
    ("/cache/lehrling-copies", "/cache/lehrling-copies-%i"),
    ("lehrling-doctor.service", "lehrling-doctor@%i.service"),
    ("lehrling-daemon.service", "lehrling-daemon@%i.service"),
    ("Description=Lehrling: ", "Description=Lehrling, %i: "),
)
"""In what the units of a further kiln differ from those of the first one."""
PROGRAM = "/opt/lehrling/bin/lehrling"


def keys(name):
    """Return every value of every key, in order; a key may stand more than once."""
    found: dict[str, list[str]] = {}
    for line in (FOLDER / name).read_text(encoding="utf-8").splitlines():
        if line and not line.startswith(("#", "[")):
            key, value = line.split("=", 1)
            found.setdefault(key, []).append(value)
    return found


@pytest.fixture
def verifiable(tmp_path):
    """Return the units with a program that exists here, since systemd asks for one."""
    if not shutil.which("systemd-analyze"):
        if os.environ.get("CI"):
            pytest.fail("systemd-analyze is missing; install systemd")
        pytest.skip("systemd-analyze is not installed here")
    for name in (*UNITS, TIMER):
        text = (FOLDER / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(text.replace(PROGRAM, sys.executable), encoding="utf-8")
    return tmp_path


def test_systemd_has_nothing_to_say_about_the_units(verifiable):
    # It returns 0 for a key it does not know, so silence is the only pass.
    ran = subprocess.run(["systemd-analyze", "verify", *(str(verifiable / name) for name in (*UNITS, TIMER))],
                         capture_output=True, text=True, timeout=60, check=False)
    assert (ran.stdout + ran.stderr).strip() == ""
    assert ran.returncode == 0


@pytest.mark.parametrize("name", [*UNITS, TIMER])
def test_the_units_of_a_further_kiln_are_those_of_the_first_with_folders_of_their_own(name):
    text = (FOLDER / name).read_text(encoding="utf-8")
    for plain, of_one in OF_ONE_KILN:
        text = text.replace(plain, of_one)
    assert (FOLDER / name.replace(".", "@.", 1)).read_text(encoding="utf-8") == text


def test_systemd_has_nothing_to_say_about_a_further_kiln(verifiable):
    for name in (*UNITS, TIMER):
        template = name.replace(".", "@.", 1)
        text = (FOLDER / template).read_text(encoding="utf-8").replace(PROGRAM, sys.executable)
        (verifiable / template).write_text(text, encoding="utf-8")
        (verifiable / name.replace(".", "@casting.", 1)).symlink_to(template)
    ran = subprocess.run(["systemd-analyze", "verify", *(str(verifiable / name.replace(".", "@casting.", 1))
                                                         for name in (*UNITS, TIMER))],
                         capture_output=True, text=True, timeout=60, check=False)
    assert (ran.stdout + ran.stderr).strip() == ""
    assert ran.returncode == 0


@pytest.mark.parametrize("name", SERVICES)
def test_a_service_comes_back_however_often_it_falls(name):
    unit = keys(name)
    assert unit["Restart"] == ["always"]
    assert unit["StartLimitIntervalSec"] == ["0"]  # the default gives up after five starts in ten seconds


@pytest.mark.parametrize("name", UNITS)
def test_all_are_one_user_and_share_their_folders(name):
    # A reader under another user fails on a database in WAL mode that nobody has open.
    unit = keys(name)
    assert unit["User"] == ["lehrling"]
    assert unit["StateDirectory"] == ["lehrling"]
    assert unit["RuntimeDirectory"] == ["lehrling"]
    assert unit["RuntimeDirectoryPreserve"] == ["yes"]
    assert "--data /var/lib/lehrling --run /run/lehrling" in unit["ExecStart"][0]
    assert unit["UMask"] == ["0027"]


@pytest.mark.parametrize("name", UNITS)
def test_a_service_can_gain_no_privilege(name):
    unit = keys(name)
    assert unit["NoNewPrivileges"] == ["yes"]
    assert unit["CapabilityBoundingSet"] == [""]
    assert unit["ProtectSystem"] == ["strict"]
    assert unit["SystemCallFilter"][:2] == ["@system-service", "~@privileged @resources"]


@pytest.mark.parametrize("name", SERVICES)
def test_a_service_that_hangs_is_started_again_within_about_a_minute(name):
    unit = keys(name)
    assert unit["Type"] == ["notify"]
    assert unit["NotifyAccess"] == ["main"]
    assert "AF_UNIX" in unit["RestrictAddressFamilies"][0].split()  # systemd listens at such a socket
    assert 10 <= int(unit["WatchdogSec"][0]) <= 60
    assert int(unit["TimeoutStartSec"][0]) >= 120  # a small Pi with all three at once


def test_the_page_may_ask_itself():
    assert "localhost" in keys("lehrling-web.service")["IPAddressAllow"][0].split()


def test_the_daemon_starts_without_network_or_clock():
    unit = keys("lehrling-daemon.service")
    assert "After" not in unit
    assert unit["Wants"] == ["lehrling-doctor.service"]  # which comes after it


def test_the_doctor_looks_after_each_start_and_can_hold_up_none():
    unit = keys("lehrling-doctor.service")
    assert unit["After"] == ["lehrling-daemon.service"]
    assert unit["Type"] == ["oneshot"]
    assert unit["SuccessExitStatus"] == ["1"]
    assert int(unit["TimeoutStartSec"][0]) <= 60
    assert "ExecStartPre" not in keys("lehrling-daemon.service")
    assert "WantedBy" not in unit


def test_the_doctor_may_no_more_than_the_daemon():
    doctor, daemon = keys("lehrling-doctor.service"), keys("lehrling-daemon.service")
    for key in ("SupplementaryGroups", "DevicePolicy", "DeviceAllow", "PrivateNetwork", "RestrictAddressFamilies",
                "SystemCallFilter", "ProtectProc", "ProcSubset"):
        assert doctor[key] == daemon[key]


def test_copies_hold_up_no_watch_and_come_after_everything_else():
    unit = keys("lehrling-copies.service")
    assert unit["Type"] == ["oneshot"]
    assert (unit["Nice"], unit["IOSchedulingClass"]) == (["19"], ["idle"])
    assert "Restart" not in unit  # the next hour tries again
    assert int(unit["TimeoutStartSec"][0].removesuffix("h")) <= 4
    for name in SERVICES:
        assert "lehrling-copies" not in (FOLDER / name).read_text(encoding="utf-8")


def test_copies_write_where_disks_are_mounted_and_mount_only_what_the_owner_marked():
    unit = keys("lehrling-copies.service")
    assert unit["ReadWritePaths"] == ["-/media -/mnt"]
    # Among the mounts of the first process: in the unit's own nobody else would see them.
    assert unit["ExecStartPre"] == [
        "-+/usr/bin/nsenter --target 1 --mount /usr/bin/mount --all --test-opts x-lehrling"]
    assert "ReadWritePaths" not in keys("lehrling-daemon.service")


def test_each_hour_only_what_is_due_is_copied():
    assert "copies make --due" in keys("lehrling-copies.service")["ExecStart"][0]
    assert keys(TIMER)["OnCalendar"] == ["*-*-* *:40:00"]  # the night's copy is made at 4:20


@pytest.mark.parametrize("name", UNITS)
def test_no_unit_is_more_exposed_than_we_say(verifiable, name):
    # 2.0 of 10, as packaging/deb/try asks of the units that are installed.
    ran = subprocess.run(["systemd-analyze", "security", "--offline=true", "--no-pager", "--threshold=20",
                          str(verifiable / name)], capture_output=True, text=True, timeout=60, check=False)
    assert ran.returncode == 0, ran.stdout[-200:]


def test_the_daemon_reaches_the_chip_and_nothing_else():
    unit = keys("lehrling-daemon.service")
    assert unit["DevicePolicy"] == ["closed"]
    assert {value.split()[0] for value in unit["DeviceAllow"]} == {"/dev/spidev0.0", "/dev/spidev0.1"}
    assert unit["PrivateNetwork"] == ["yes"]


def test_the_daemon_may_still_ask_whether_the_clock_is_set():
    # @clock is outside @system-service, and ProtectClock would refuse the question too.
    unit = keys("lehrling-daemon.service")
    assert "clock_adjtime" in unit["SystemCallFilter"][-1]
    assert "ProtectClock" not in unit


def test_only_delivery_and_copies_may_speak_to_the_outside():
    assert "IPAddressAllow" not in keys("lehrling-daemon.service")
    page = keys("lehrling-web.service")
    assert page["IPAddressDeny"] == ["any"]
    assert "192.168.0.0/16" in page["IPAddressAllow"][0]
    assert "IPAddressDeny" not in keys("lehrling-deliver.service")
    assert keys("lehrling-copies.service")["SocketBindDeny"] == ["any"]
    assert keys("lehrling-deliver.service")["SocketBindDeny"] == ["any"]
