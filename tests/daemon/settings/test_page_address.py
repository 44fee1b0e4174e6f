"""Addresses that a page can listen at, as far as they tell it themselves."""

from __future__ import annotations

import errno
import socket

import pytest

from daemon.settings.page_address import address_problem, host_at_fault, host_doubt


@pytest.mark.parametrize("host", ["127.0.0.1", "0.0.0.0", "::", "::1", "192.0.2.7", "localhost", "kiln.local"])
def test_an_address_or_a_computer_s_name_may_be_one(host):
    assert address_problem(host, behind_tls=False) is None


@pytest.mark.parametrize("host", [
    "192.0.2", "192.0.2.256", "kiln.", "-kiln", "my kiln", "http://kiln", "kiln:8080", "k" * 64,
    ".".join(["kiln"] * 60)])
def test_a_slip_of_the_hand_is_none(host):
    problem = address_problem(host, behind_tls=False)
    assert problem is not None
    assert "Write 0.0.0.0" in problem[1]


def test_behind_a_proxy_it_listens_to_this_computer_only():
    assert address_problem("localhost", behind_tls=True) is None
    assert address_problem("kiln.local", behind_tls=True) is not None


def test_an_address_of_this_computer_is_in_no_doubt():
    assert host_doubt("127.0.0.1") == ""


def test_an_address_of_another_computer_is_doubted():
    assert "no address of this computer. It would not start. Write 0.0.0.0" in host_doubt("192.0.2.7")  # RFC 5737


def test_a_name_that_is_not_found_is_doubted(monkeypatch):
    def unknown(*asked, **more):
        raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")
    monkeypatch.setattr(socket, "getaddrinfo", unknown)
    assert "at evil.example now: no computer of this name is found." in host_doubt("evil.example")


def test_a_port_that_is_taken_is_not_the_host_s_fault():
    assert host_at_fault(OSError(errno.EADDRINUSE, "Address already in use")) is None
