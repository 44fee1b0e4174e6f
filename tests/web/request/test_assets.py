"""Plotly's own script comes from the environment, packed, under an address that is its content's."""

from __future__ import annotations

import gzip
from importlib.resources import files

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
