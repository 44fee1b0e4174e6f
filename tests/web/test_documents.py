"""The documents on the page: all that come with Lehrling can be read, and sentences that name one lead to it."""

from __future__ import annotations

import re

import pytest

from daemon import installed
from daemon.doctor.examine import Result, keep
from daemon.doctor.finding import mend
from web.documents import here, read_document

NAMES = sorted(path.name for path in installed.OWN_DOCUMENTS.glob("*.md"))
DRAWINGS = sorted(path.name for path in installed.OWN_DOCUMENTS.glob("*.svg"))


@pytest.fixture(autouse=True)
def own(monkeypatch, tmp_path):
    monkeypatch.setattr(installed, "PACKAGE_DOCUMENTS", tmp_path / "none")


@pytest.mark.parametrize("name", NAMES)
def test_every_document_can_be_read_and_its_links_lead_somewhere(client, name):
    page = client.get(f"/documents/{name}")
    assert page.status_code == 200
    title = (installed.OWN_DOCUMENTS / name).read_text(encoding="utf-8").splitlines()[0].removeprefix("# ")
    assert re.sub(r"[`*]", "", title) in re.sub("<[^>]*>", "", page.text.replace("&#39;", "'"))
    for to, anchor in re.findall(r'href="/documents/([^"#]+)#?([^"]*)"', page.text):
        assert to in (*NAMES, *DRAWINGS)
        if anchor:
            assert f'id="{anchor}"' in client.get(f"/documents/{to}").text, (name, to, anchor)
    for anchor in re.findall(r'href="#([^"]+)"', page.text):
        assert f'id="{anchor}"' in page.text, (name, anchor)


@pytest.mark.parametrize("name", ["no.md", "..%2f..%2fpyproject.toml", "figures", "make.py"])
def test_nothing_but_a_document_is_shown(client, name):
    assert client.get(f"/documents/{name}").status_code == 404


def test_the_drawing_of_the_wires_is_shown_where_it_stands(client):
    page = client.get("/documents/install.md").get_data(as_text=True)
    assert 'src="/documents/wiring.svg"' in page
    with client.get("/documents/wiring.svg") as drawing:
        assert (drawing.status_code, drawing.mimetype) == (200, "image/svg+xml")
    assert client.get("/documents/no.svg").status_code == 404


def test_a_document_is_read_in_parts_and_keeps_the_lines_of_tables_and_commands():
    found = [(block.kind, [list(map(str, row)) for row in block.rows] or str(block.text)) for block in read_document(
        "# A <b> & `x`\n\nOne\ntwo **three** *four*.\n\n- a\n  b\n- c\n1. d\n\n```sh\nlehrling\n\n  doctor\n```\n\n"
        "| a | `b` |\n|---|---|\n| c \\| d | |\n\n![a fence](x.svg)\n\n<!-- a remark -->\n### Then\nlast")]
    assert found == [
        ("h2", "A &lt;b&gt; &amp; <code>x</code>"), ("p", "One two <b>three</b> <i>four</i>."), ("li", "a b"),
        ("li", "c"), ("li", "d"), ("pre", "lehrling\n\n  doctor"),
        ("table", [["a", "<code>b</code>"], ["c \\| d", ""]]),
        ("p", "(A drawing shows: a fence.)"), ("h3", "Then"), ("p", "last")]


def test_the_contents_of_a_long_document_lead_to_its_headings(client):
    page = client.get("/documents/install.md").get_data(as_text=True)
    listed = re.search(r'<nav aria-label="Contents of this document">(.*?)</nav>', page, re.DOTALL)[1]
    links = re.findall(r'<li><a href="#([^"]+)">([^<]+)</a></li>', listed)
    assert ("acceptance-in-half-an-hour", "Acceptance in half an hour") in links
    assert [anchor for anchor, _ in links] == re.findall(r'<h2 id="([^"]+)">', page)
    assert "&lt;!--" not in page


def test_a_finding_leads_to_its_document_and_says_what_to_type_here(client, studio, monkeypatch):
    keep(Result(studio.clock.wall, [mend("probe", "<b> is odd.", "See docs/install.md; then lehrling doctor")]),
         studio.folder)
    monkeypatch.setattr(installed, "service_user", lambda folder: "lehrling")
    page = client.get("/kiln/check").text
    assert 'See <a href="/documents/install.md">docs/install.md</a>; then sudo -u lehrling lehrling doctor' in page
    assert "&lt;b&gt; is odd." in page


def test_without_the_documents_their_names_stay(studio, monkeypatch, tmp_path):
    monkeypatch.setattr(installed, "OWN_DOCUMENTS", tmp_path / "none")
    with studio.app().test_request_context():
        assert here("See docs/install.md & wait") == "See docs/install.md &amp; wait"


def test_the_way_in_says_what_to_type_on_a_box_with_services(studio, monkeypatch):
    monkeypatch.setattr(installed, "service_user", lambda folder: "lehrling")
    page = studio.app(open_house=False).test_client().get(
        "/passcode", environ_overrides={"REMOTE_ADDR": "192.168.1.9"}).text
    assert "<code>sudo -u lehrling lehrling web --set-passcode</code>" in page
