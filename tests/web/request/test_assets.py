"""Plotly's own script comes packed from the environment, under its content's address; the page's own files packed."""

from __future__ import annotations

import gzip
from importlib.resources import files
from pathlib import Path

import pytest

import web
from web.request import assets


def _address(studio) -> str:
    with studio.app().test_request_context("/"):
        return assets.script_address()


def test_the_script_is_the_packaged_one_byte_for_byte(client, studio):
    answer = client.get(_address(studio), headers={"Accept-Encoding": "gzip"})
    packaged = (files("plotly") / "package_data" / "plotly.min.js").read_bytes()
    assert answer.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(answer.data) == packaged
    assert client.get(_address(studio), headers={"Accept-Encoding": "identity"}).data == packaged


def test_a_browser_keeps_it_for_good(client, studio):
    answer = client.get(_address(studio), headers={"Accept-Encoding": "gzip"})
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert answer.headers["Vary"] == "Accept-Encoding"


def test_it_is_packed_once(client, studio):
    assert assets.script().packed is assets.script().packed


@pytest.mark.parametrize("name", ["lehrling.css", "trace.js", "mark.svg"])
def test_the_pages_own_files_are_packed_for_a_browser_that_takes_it_and_plain_for_another(client, name):
    plain = (Path(web.__file__).parent / "static" / name).read_bytes()
    packed = client.get(f"/static/{name}", headers={"Accept-Encoding": "gzip"}, buffered=True)
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain
    assert int(packed.headers["Content-Length"]) == len(packed.data) < len(plain)
    other = client.get(f"/static/{name}", headers={"Accept-Encoding": "identity"}, buffered=True)
    assert other.data == plain
    assert "Content-Encoding" not in other.headers
    assert {answer.headers["Vary"] for answer in (packed, other)} == {"Accept-Encoding"}
    asked = {"Accept-Encoding": "gzip", "If-None-Match": packed.headers["ETag"]}
    again = client.get(f"/static/{name}", headers=asked, buffered=True)
    assert (again.status_code, again.data) == (304, b"")
