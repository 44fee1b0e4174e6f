"""The page works with changed settings from the next request on, and stays as it was where they can't be used."""

from __future__ import annotations

from werkzeug.test import Client

from daemon.errors import BadInput
from web.reloading import Reloading


def test_changed_settings_count_from_the_next_request_on(studio):
    studio.open_store().close()
    names, marks = ["small kiln"], [1]

    def make():
        if not names[0]:
            raise BadInput("lehrling.toml", "can't be used.")
        return studio.app(kiln=names[0])

    client = Client(Reloading(make, lambda: marks[0]))
    assert "small kiln" in client.get("/").text
    names[0] = "loft kiln"
    assert "small kiln" in client.get("/").text  # nothing is put together anew without a change of the file
    marks[0] = 2
    assert "loft kiln" in client.get("/").text
    names[0], marks[0] = "", 3
    assert "loft kiln" in client.get("/").text
