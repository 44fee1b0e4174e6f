"""Whatever is typed or asked: an answer below 500, no traceback, and nothing that runs."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from daemon.store.wear import part_changes

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
TYPED = st.one_of(
    st.text(max_size=60),
    st.sampled_from([
        "", "0", "-1", "1e400", "nan", "NaN", "inf", "٣", "１", "1" * 400, "\x00",
        "[[step]]", "'; DROP TABLE firing; --",
        "<script>alert(1)</script>", "{{ 7*7 }}", "../../etc/passwd", "%00", "\r\nX: y",
        "=cmd|' /C calc'!A0", "𝔘𝔫𝔦", "220 / 670 / 0:30", "1", "2", "90", "C", "free / 800",
    ]),
)
FORMS = {
    "/start": ("title", "piece", "plan", "thickness", "glass", "faces", "saw", "token"),
    "/firings/1/delete": ("test",),
    "/firings/1/take-back": ("test",),
    "/firings/1/name": ("title", "piece", "plan", "thickness", "glass", "faces"),
    "/firings/1/acknowledge": ("alert_no",),
    "/firings/1/quiet": ("alert_no",),
    "/firings/1/note": ("note",),
    "/firings/1/said": ("what",),
    "/firings/1/came-out": ("word", "note", "back"),
    "/firings/1/now/note": ("note",),
    "/firings/1/now/photograph": ("photograph", "caption"),
    "/firings/1/call": ("at", "off"),
    "/pieces/new": ("name", "glass", "thickness", "thinnest", "layers", "separator", "colour", "note"),
    "/pieces/1/change": ("name", "glass", "thickness", "thinnest", "layers", "separator", "colour", "note"),
    "/pieces/1/drying": ("hours",),
    "/pieces/1/photographs": ("photograph", "moment", "caption"),
    "/firings/1/pieces/1/outcome": ("word", "place", "note"),
    "/reach/milestones": ("top-reached", "call", "dry"),
    "/plans/new": ("title", "unit", "first", "steps", "thickness", "glass", "faces", "uneven", "fill", "read"),
    "/plans/1/rename": ("title",), "/plans/1/retire": ("title",), "/plans/1/use-again": ("title",),
    "/plans/drawing.json": ("title", "unit", "first", "steps", "thickness", "glass", "faces", "uneven"),
    "/setup": ("name", "controller_unit", "unit", "thickness_unit", "time_zone", "thermocouple_type", "mains_hz",
               "tolerance_class", "power_kw", "price_per_kwh", "currency", "whom_to_call"),
    "/kiln/parts": ("part", "day", "note"), "/kiln/parts/1": ("part", "day", "note"),
    "/firings/1/meter": ("kwh",),
    "/reach/add": ("name", "address", "rings", "after_min"), "/reach/answer": ("channel", "reached"),
    "/reach/sounder": ("pin", "lamp_pin", "active_low"),
    "/reading": ("unit", "hours", "light"),
    "/reading/sessions": ("key",),
    "/firings/other-logger": ("log",),
    "/firings/1/photographs": ("photograph", "moment", "caption"),
    "/enter": ("passcode", "back"),
    "/passcode": ("passcode", "again"),
}
QUERIES = ("/", "/now.json", "/start", "/firings", "/firings/1", "/firings/1/trace.json", "/plans/new", "/enter",
           "/compare", "/pieces/1", "/firings/1/trace.svg", "/plans/1", "/kiln", "/find", "/questions")
BOUNDED = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def _calm(answer) -> None:
    assert answer.status_code < 500, answer.status_code
    text = answer.text
    assert "Traceback" not in text
    assert "<script>alert" not in text


@pytest.fixture
def filled(studio):
    studio.say(studio.fill(until_s=3000.0, alert=True), 3000.0, alert=True)
    now = studio.clock.wall
    studio.store(lambda db: part_changes.add_change(db, 1, "elements", now.date(), "", now))
    return studio.app().test_client()


@pytest.mark.parametrize("path", FORMS)
def test_forms(filled, path):
    fields = FORMS[path]

    @BOUNDED
    @given(st.dictionaries(st.sampled_from(fields), st.lists(TYPED, min_size=1, max_size=3)),
           st.dictionaries(TYPED, TYPED, max_size=2))
    def run(typed, stray):
        answer = filled.post(path, data={**stray, **typed}, headers=SAME)
        _calm(answer)
        if answer.status_code in {302, 303}:
            assert answer.headers["Location"].startswith("/")

    run()


@pytest.mark.parametrize("path", QUERIES)
def test_parameters(filled, path):
    @BOUNDED
    @given(st.dictionaries(
        st.sampled_from(["page", "asked", "like", "plan", "piece", "title", "drawing", "back", "v", "firing", "by",
                         "glass", "outcome", "taken", "q", "since", "until", "strayed", "over",
                         "above"]), TYPED))
    def run(typed):
        _calm(filled.get(path, query_string=typed))

    run()


@BOUNDED
@given(st.sampled_from(["/firings/", "/plans/", "/plotly-", "/static/", "/", "/firings/1/"]), TYPED)
def test_addresses(filled, front, rest):
    from urllib.parse import quote

    _calm(filled.get(front + quote(rest), buffered=True))


@BOUNDED
@given(st.binary(max_size=300), st.sampled_from([
    "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "multipart/form-data", "application/json",
    "text/plain", "",
]))
def test_bodies(filled, body, kind):
    _calm(filled.post("/pieces/new", data=body, headers=SAME, content_type=kind))


@BOUNDED
@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=40), st.sampled_from(
    ["Cookie", "If-None-Match", "Accept-Encoding", "Range", "If-Modified-Since", "X-Forwarded-Host"]))
def test_headers(filled, value, name):
    for path in ("/", "/now.json", "/static/now.js"):
        _calm(filled.get(path, headers={name: value}, buffered=True))


def test_after_all_that_the_store_still_answers(filled, studio):
    test = filled.get("/firings")
    assert test.status_code == 200
