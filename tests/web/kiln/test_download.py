"""The newest copy as one file: whole, for whoever is signed in, one at a time."""

from __future__ import annotations

import http.client
import io
import re
import zipfile
from datetime import timedelta
from hashlib import sha256
from pathlib import Path

import pytest

from daemon.settings.config import Config
from daemon.settings.elsewhere import read_place
from daemon.store.safety import elsewhere
from daemon.store.safety.copies import make_copy
from daemon.store.stamps import stamp
from web.kiln import download


@pytest.fixture
def copied(studio):
    """Return the newest of two copies; two photographs lie beside the record."""
    studio.open_store().close()
    (studio.folder / "photographs").mkdir(exist_ok=True)
    for mark in ("aa11", "bb22"):
        (studio.folder / "photographs" / f"{mark}-whole.jpg").write_bytes(b"\xff\xd8" + mark.encode() * 99)
    record = studio.folder / "lehrling.db"
    return [make_copy(record, studio.clock.utc() - timedelta(days=days)) for days in (1, 0)][-1]


def test_it_holds_the_newest_copy_and_all_photographs_byte_by_byte(client, studio, copied):
    answer = client.get("/kiln/copy.zip", buffered=True)
    assert answer.headers["Content-Disposition"].startswith("attachment; filename=\"lehrling-")
    whole = zipfile.ZipFile(io.BytesIO(answer.data))
    assert whole.testzip() is None
    pictures = ["photographs/aa11-whole.jpg", "photographs/bb22-whole.jpg"]
    assert whole.namelist() == [copied.name, *pictures, "digests.json"]
    assert sha256(whole.read(copied.name)).digest() == sha256(copied.read_bytes()).digest()


def test_a_damaged_newest_copy_is_passed_over(client, studio, copied):
    copied.write_bytes(b"\xff" * 5000)
    names = zipfile.ZipFile(io.BytesIO(client.get("/kiln/copy.zip", buffered=True).data)).namelist()
    assert copied.name not in names
    assert names[0].startswith("lehrling-000001-")


def test_one_is_sent_at_a_time_and_the_next_one_after_it(client, copied):
    assert client.get("/kiln/copy.zip", buffered=True).status_code == 200
    assert client.head("/kiln/copy.zip", buffered=True).status_code == 200
    with download._ONE_AT_A_TIME:
        assert client.get("/kiln/copy.zip", buffered=True).status_code == 429
    assert client.get("/kiln/copy.zip", buffered=True).status_code == 200


@pytest.mark.slow
def test_a_large_download_takes_no_large_memory(real_server, studio, copied):
    (studio.folder / "photographs" / "cc33-whole.jpg").write_bytes(bytes(40_000_000))

    def highest_kb():
        said = Path(f"/proc/{real_server.process.pid}/status").read_text()
        return int(re.search(r"VmHWM:\s+(\d+)", said)[1])

    before_kb = highest_kb()
    for _ in range(2):
        line = http.client.HTTPConnection("127.0.0.1", real_server.port, timeout=60)
        line.request("GET", "/kiln/copy.zip", headers={"Host": "localhost"})
        assert len(line.getresponse().read()) > 40_000_000
        line.close()
    assert highest_kb() - before_kb < 15_000  # by waitress's own settings it is 17 MB each time


def test_without_a_copy_that_is_said(client, studio):
    studio.open_store().close()
    answer = client.get("/kiln/copy.zip", buffered=True)
    assert (answer.status_code, "There is no copy yet" in answer.text) == (404, True)
    assert "Download the newest copy" not in client.get("/kiln").text


def test_the_kilns_page_offers_it_and_says_how_old_the_newest_elsewhere_is(client, studio, copied):
    page = client.get("/kiln").text
    assert 'href="/kiln/copy.zip"' in page
    assert "No place for copies elsewhere is set" in page


def test_it_says_why_the_newest_is_no_newer(studio, copied):
    client = studio.app(config=Config(copies=(read_place("usb:KILN"),))).test_client()
    assert "No copy elsewhere yet." in client.get("/kiln").text
    made = stamp(studio.clock.utc() - timedelta(days=3))
    elsewhere.keep(studio.folder, "usb:KILN", elsewhere.Known("the stick KILN", "x.db", made))
    elsewhere.keep(studio.folder, "usb:KILN", elsewhere.Known("the stick KILN", trouble="The stick KILN is not in."))
    page = client.get("/kiln").text.replace("\u00a0", " ")
    assert "Newest copy elsewhere: 3 days ago, on the stick KILN. The stick KILN is not in." in page


def test_who_only_reads_gets_no_copy_and_no_button(studio, copied):
    (studio.folder / "passcode").write_text("a hash")
    reader = studio.app(open_house=False, open_reading=True).test_client()
    assert reader.get("/kiln/copy.zip").status_code == 403
    assert "copy.zip" not in reader.get("/kiln").text
