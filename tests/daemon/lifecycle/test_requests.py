from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.firing.events import Said, Saying
from daemon.lifecycle.requests import End, Name, Say, Start, read_request

_KEYS = ["title", "piece_ids", "plan_id", "glass", "thickness_mm", "faces", "offset_c", "firing_id", "alert_no",
         "for_s", "what"]
_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=30),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6)


@pytest.mark.slow
@given(st.sampled_from(["start", "end", "acknowledge", "quiet", "said", "name", "sing"]),
       st.dictionaries(st.sampled_from(_KEYS), _VALUES))
def test_whatever_is_asked_is_understood_or_refused_in_words(kind, payload):
    with contextlib.suppress(BadInput):
        read_request(kind, payload)


def test_a_start_takes_the_ordinary_load_where_nothing_is_said():
    assert read_request("start", {}) == Start("Firing", (), None, "90", 6.0, 1, None)
    given = {"title": " Bowl ", "piece_ids": [3, 3, 1], "plan_id": 2, "glass": "96", "thickness_mm": 9, "faces": 2}
    assert read_request("start", given) == Start("Bowl", (3, 1), 2, "96", 9.0, 2, None)


def test_null_is_a_key_left_out_and_takes_away_only_a_plan_or_an_offset():
    assert read_request("start", {"glass": None, "faces": None, "title": None, "piece_ids": None}) == Start()
    assert read_request("name", {"firing_id": 1, "glass": None, "plan_id": None, "offset_c": None}) == Name(
        1, {"plan_id": None, "offset_c": None}, None)


def test_what_the_maker_says_is_taken_by_its_word():
    assert read_request("acknowledge", {"firing_id": 1, "alert_no": 2}) == Say(1, Said(0.0, Saying.ACKNOWLEDGE, 2))
    assert read_request("quiet", {"for_s": 1800}) == Say(None, Said(0.0, Saying.QUIET, None, 1800.0))
    assert read_request("said", {"what": "probe-out"}) == Say(None, Said(0.0, Saying.PROBE_OUT))
    assert read_request("end", {"firing_id": 4}) == End(4)


def test_naming_leaves_alone_what_is_not_said_and_can_take_the_plan_away():
    assert read_request("name", {"firing_id": 1, "title": "Bowl"}) == Name(1, {"title": "Bowl"}, None)
    assert read_request("name", {"firing_id": 1, "plan_id": None, "piece_ids": []}) == Name(1, {"plan_id": None}, ())


@pytest.mark.parametrize(("kind", "payload", "told"), [
    ("start", {"title": ""}, "start title: is empty. Write something, or leave the line out."),
    ("start", {"title": "a\nb"}, "start title: 'a\\nb' is more than one line of text."),
    ("start", {"thickness_mm": float("nan")},
     "start thickness_mm: nan is not a number. Write a number from 0.5 to 300 mm."),
    ("start", {"faces": 3}, "start faces: 3 is outside 1 to 2. 1 on a shelf, 2 where air reaches both sides."),
    ("start", {"piece_ids": [True]}, "start piece_ids: [True] can't be used."),
    ("quiet", {"for_s": 0}, "quiet for_s: 0 is outside 1 to 86400 s."),
    ("name", {"title": "x"}, "name firing_id: missing."),
    ("sing", {}, "sing: is no request. Known: start, end, acknowledge, quiet, said, name, delete, "
     "take-back, keyed-in."),
    ("said", {"what": "sung"}, "said what: 'sung' is unknown. Known: acknowledge, quiet, vented"),
    ("said", {"what": "call"}, "said temp_c: missing. Say at which temperature."),
    ("start", {"faces": 3, "glass": "jelly"},
     "start: these settings can't be used:\n  start glass: 'jelly' is unknown. Known: "
     "33, float, 90, 96, 104.\n  start faces: 3 is outside 1 to 2. 1 on a shelf"),
])
def test_a_wrong_value_is_named_with_its_remedy(kind, payload, told):
    with pytest.raises(BadInput) as refused:
        read_request(kind, payload)
    assert refused.value.text.startswith(told)
