"""Links are taken only in order, with their own contents; what a box could send by mistake or malice is refused."""

from __future__ import annotations

import copy

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.store.chain.links import START, head_after, own_of
from daemon.studio.checking import BEGINNING, Mark, OtherRecord, Unlike, as_text, checked, digests, fresh

CONTENTS = (("firing", 0, {"title": "Bowl"}), ("readings", 0, [[0, 2560, None, None, None], [5, 2570, 3, 4, 1]]),
            ("alert", 1, {"no": 1, "what": "Falling"}),
            ("note", 1, {"wall_utc": "2026-03-04T01:00:00Z", "text": "é"}))
PLAIN = (st.none() | st.booleans() | st.integers(-2**53, 2**53) | st.floats(allow_nan=False, allow_infinity=False)
         | st.text())


def chain():
    """Return an answer with four links."""
    head, rows = START, []
    for no, (kind, ref, content) in enumerate(CONTENTS):
        own = own_of(content)
        head = head_after(head, kind, ref, own).hex()
        rows.append({"no": no, "kind": kind, "ref": ref, "own": own.hex(), "head": head, "content": content})
    return {"firing": 12, "links": copy.deepcopy(rows), "more": False, "fresh": []}


def test_a_chain_in_order_is_taken():
    found = checked(12, chain(), BEGINNING)
    assert [(link.no, link.kind, link.ref) for link in found] == [
        (no, kind, ref) for no, (kind, ref, _) in enumerate(CONTENTS)]
    assert found[1].readings == [(0, 2560, None, None, None), (5, 2570, 3, 4, 1)]
    assert digests(found[3].text) == found[3].own


def test_a_chain_goes_on_from_the_mark_only():
    answer = chain()
    mark = Mark(1, answer["links"][1]["head"])
    later = answer | {"links": answer["links"][2:]}
    assert [link.no for link in checked(12, later, mark)] == [2, 3]
    for other in (Mark(1, START), Mark(0, mark.head), BEGINNING):
        with pytest.raises(OtherRecord, match="Firing 12 does not go on from what was collected"):
            checked(12, later, other)


@pytest.mark.parametrize("change", [
    lambda rows: rows.pop(1), lambda rows: rows.insert(1, rows[1]), lambda rows: rows.reverse(),
    lambda rows: rows[2].update(ref=2), lambda rows: rows[1].update(head="00" * 32),
    lambda rows: rows[3]["content"].update(text="e"), lambda rows: rows[1]["content"].pop(),
    lambda rows: rows[1]["content"][0].append(1), lambda rows: rows[1]["content"][1].__setitem__(0, 601),
    lambda rows: rows[1]["content"][0].__setitem__(1, 20.5), lambda rows: rows[1]["content"][0].__setitem__(1, 2**40),
    lambda rows: rows[1].pop("content"), lambda rows: rows[3].pop("content"), lambda rows: rows[0].update(no="0"),
    lambda rows: rows[0].update(own="zz"), lambda rows: rows[0].update(kind="other"),
    lambda rows: rows[0].update(ref=-1),
    lambda rows: rows.append(None), lambda rows: rows[0].update(content="text"), lambda rows: rows[0].pop("head")])
def test_what_was_lost_doubled_moved_or_changed_is_refused(change):
    answer = chain()
    change(answer["links"])
    with pytest.raises(Unlike, match=r"[Ff]iring 12"):
        checked(12, answer, BEGINNING)


def test_a_state_that_a_later_link_replaces_comes_without_its_content():
    answer = chain()
    del answer["links"][2]["content"]
    assert checked(12, answer, BEGINNING)[2].text is None


@pytest.mark.parametrize("rows", [None, "text", [[5, 1, 1, 1, 1], [5, 1, 1, 1, 1]], [[-1, 1, 1, 1, 1]], [[1, 2]],
                                  [5], [[5, "1", 1, 1, 1]], [[True, 1, 1, 1, 1]]])
def test_fresh_readings_that_can_not_be_are_left_out(rows):
    assert fresh({"fresh": rows}) == []


@given(st.recursive(PLAIN,
                    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner), max_leaves=8))
def test_what_postgresql_can_keep_gives_the_same_hash_again(content):
    text = as_text(content)
    assert "\\u0000" not in text.replace("\\\\", "")
    if "�" not in text:
        assert digests(text) == own_of(content)
