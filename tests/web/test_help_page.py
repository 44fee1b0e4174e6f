"""Help: what to do when something is wrong, whom to call, and what the words mean; nothing stands there twice."""

from __future__ import annotations

import re
from html import unescape

from daemon.firing.alerts.registry import KINDS, RANK_TITLES, kind_title
from daemon.firing.speaker import ELECTRIC, ISOLATOR
from daemon.settings.config import Config


def plain(client):
    html = client.get("/help").text
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html))).replace("\u00a0", " ").replace("’", "'")


def test_it_begins_with_the_isolator_and_the_caution_and_says_that_it_is_no_safety_device(studio):
    said = plain(studio.app().test_client())
    assert said.index(ISOLATOR) < said.index(ELECTRIC) < said.index("This is a helper, not a safety device.")
    assert "local code" in said
    assert "licensed people" in said


def test_every_rank_and_every_kind_is_explained_by_its_document(studio):
    said = plain(studio.app().test_client())
    for title in RANK_TITLES.values():
        assert f"{title[0].upper()}{title[1:]} " in said
    for kind in KINDS:
        title = kind_title(kind.name)
        assert f"{title[0].upper()}{title[1:]} " in said
    assert "Too hot the kiln is hotter than the plan's top" in said


def test_it_is_linked_at_the_foot_of_every_page_and_leads_on(studio):
    studio.fill(ended=True)
    client = studio.app().test_client()
    for page in ("/", "/firings", "/pieces", "/plans", "/kiln", "/help"):
        assert '<a href="/help">Help</a>' in client.get(page).text.split("<footer")[1]
    for address in ("/kiln", "/setup", "/reach", "/documents/words.md"):
        page = client.get("/help").text.split("<main")[1].split("</main>")[0]
        assert f'href="{address}"' in page
        assert client.get(address).status_code == 200


def test_it_names_whom_to_call_where_that_is_set(studio):
    assert "Write down whom to call" in plain(studio.app().test_client())
    config = Config(whom_to_call="Ada <next door>, 0555 01234")
    assert "To ask somebody, call: Ada <next door>, 0555 01234" in plain(studio.app(config=config).test_client())
