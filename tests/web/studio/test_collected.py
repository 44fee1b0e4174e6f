"""The studio's server takes in what boxes have: once, in order, with their hashes; a real PostgreSQL on loopback."""

from __future__ import annotations

import pytest

from daemon.firing.events import AlertChanged, Sample
from daemon.store import alerts, bin, firings, notes, readings
from daemon.store.chain import links
from daemon.studio import line

pytestmark = pytest.mark.slow


def rows(studio):
    """Return every reading of a box's record, by firing and second."""
    return studio.store(lambda db: db.execute("SELECT firing_id, t_s, temp_128, below_128, above_128, fault"
                                              " FROM reading ORDER BY firing_id, t_s").fetchall())


def collected(server):
    return server.ask("SELECT firing_id, t_s, temp_128, below_128, above_128, fault FROM lehrling.reading"
                      " ORDER BY firing_id, t_s")


def test_all_of_a_box_is_there_once_in_order_with_its_hashes(studio, server, serve):
    number = studio.fill(ended=True, alert=True)
    studio.fill(until_s=4000.0, title="Runs now")
    studio.store(lambda db: notes.add_note(db, number, "Came out well.", studio.clock.utc()))
    server.collect(serve(studio))
    assert collected(server) == rows(studio)
    wanted = studio.store(lambda db: [(*link[:3], link.own, link.head) for link in links.links(db, number)])
    assert server.ask("SELECT no, kind, ref, own, head FROM lehrling.link WHERE firing_id = %s ORDER BY no",
                      number) == wanted
    assert [(one.firing_id, one.readings) for one in server.verified()] == [(1, 6082), (2, 801)]
    assert not any(one.faults for one in server.verified())
    assert server.ask("SELECT trouble, kiln FROM lehrling.box") == [("", "small kiln")]


def test_each_round_takes_only_what_is_new(studio, server, serve):
    number = studio.fill(until_s=4000.0, title="Runs now")
    box = serve(studio)
    server.collect(box)
    before = server.ask("SELECT max(no) FROM lehrling.link")[0][0]
    studio.store(lambda db: readings.append(db, number, [Sample(4005.0, 611.5), Sample(4010.0, 612.0)]))
    server.collect(rounds=2)
    assert collected(server) == rows(studio)
    assert server.ask("SELECT max(no) FROM lehrling.link")[0][0] == before  # they have no link yet
    studio.store(lambda db: readings.append(db, number, [Sample(4500.0, 640.0)]))
    studio.store(lambda db: alerts.record(db, number, AlertChanged(4400, "raised", studio.alert(4500)),
                                          studio.clock.utc()))
    server.collect(rounds=2)
    assert collected(server) == rows(studio)
    assert server.ask("SELECT kind, count(*) FROM lehrling.kept GROUP BY kind ORDER BY kind") == [
        ("alert", 1), ("firing", 1), ("told", 1)]
    assert not any(one.faults for one in server.verified())


def test_a_box_that_was_away_gives_what_it_kept_meanwhile(studio, server, serve):
    number = studio.fill(until_s=4000.0)
    box = serve(studio)
    server.collect(box)
    box.stop()
    server.collect()
    assert "does not answer" in server.ask("SELECT trouble FROM lehrling.box")[0][0]
    studio.store(lambda db: readings.append(db, number, [Sample(4005.0 + 5 * at, 600.0) for at in range(720)]))
    box.start()
    server.collect()
    assert collected(server) == rows(studio)
    assert server.ask("SELECT trouble FROM lehrling.box") == [("",)]


def test_a_record_that_was_put_back_is_told_and_not_mixed_up(studio, server, serve):
    number = studio.fill(until_s=4000.0)
    older = studio.database.read_bytes()
    studio.store(lambda db: notes.add_note(db, number, "Vented.", studio.clock.utc()))
    box = serve(studio)
    server.collect(box)
    kept = server.ask("SELECT firing_id, no, head FROM lehrling.link ORDER BY no")
    studio.database.write_bytes(older)
    server.collect()
    said = server.ask("SELECT trouble FROM lehrling.box")[0][0]
    assert said.startswith(f"Firing {number} has {len(kept) - 1} entries; {len(kept)} were collected.")
    assert "lehrling studio renew kiln-1" in said
    for text in ("Other", "Others"):  # it grows beyond what was collected, and is another one still
        studio.store(lambda db, text=text: notes.add_note(db, number, text, studio.clock.utc()))
        server.collect()
        assert "was collected" in server.ask("SELECT trouble FROM lehrling.box")[0][0]
    assert server.ask("SELECT firing_id, no, head FROM lehrling.link ORDER BY no") == kept


def test_a_box_that_was_set_up_anew_is_told(studio, server, serve):
    studio.fill(until_s=4000.0)
    box = serve(studio)
    server.collect(box)
    studio.database.write_bytes(studio.empty)
    server.collect()
    assert server.ask("SELECT trouble FROM lehrling.box")[0][0].startswith(
        "Firing 1, which was collected, is not there any more. This address has another record now:")


def test_readings_that_were_changed_on_the_way_are_not_taken(studio, server, serve):
    number = studio.fill(until_s=4000.0)
    studio.store(lambda db: (db.conn.execute("UPDATE reading SET temp_128 = temp_128 + 1 WHERE t_s = 700"),
                             db.conn.commit()))
    server.collect(serve(studio))
    said = server.ask("SELECT trouble FROM lehrling.box")[0][0]
    assert said == f"Firing {number}, entry 3 is not as the box kept it. Ask there: lehrling archive verify"
    assert collected(server) == []


def test_a_firing_that_its_owner_deleted_for_good_is_removed_here_too(studio, server, serve):
    number = studio.fill(ended=True)
    box = serve(studio)
    server.collect(box)
    studio.store(lambda db: bin.put_into_bin(db, number, studio.clock.utc()))
    studio.store(lambda db: (db.conn.commit(), bin.empty(db, number, studio.clock.utc(), [])))
    server.collect(rounds=2)
    assert collected(server) == []
    assert server.ask("SELECT state FROM lehrling.firing") == [("emptied",)]
    assert server.ask("SELECT trouble FROM lehrling.box") == [("",)]


def test_a_box_whose_owner_did_not_turn_it_on_says_so(studio, server, serve):
    studio.fill()
    server.collect(serve(studio, on=False))
    assert server.ask("SELECT trouble FROM lehrling.box")[0][0].startswith(
        "Nothing is given to a studio’s server here. The owner turns it on: lehrling settings set page.studio true")
    assert collected(server) == []


def test_text_that_postgresql_cannot_keep_hinders_nothing(studio, server, serve):
    number = studio.fill(until_s=700.0)
    for text in ("zero \0 within", r"\\u0000 as typed", "half \udc80 a character"):
        with_text = text.encode(errors="surrogateescape")
        studio.store(lambda db, said=with_text: (notes.add_note(db, number, "x", studio.clock.utc()), db.conn.execute(
            "UPDATE note SET text = CAST(? AS TEXT) WHERE note_id = (SELECT max(note_id) FROM note)", [said]),
            db.conn.execute("DELETE FROM link WHERE kind = 'note' AND ref = (SELECT count(*) FROM note)"),
            db.conn.commit(), links.add_latest(db, number, "note"), db.conn.commit()))
    server.collect(serve(studio))
    assert server.ask("SELECT trouble FROM lehrling.box") == [("",)]
    said = server.ask("SELECT content->>'text' FROM lehrling.kept WHERE kind = 'note' ORDER BY ref")
    assert [text for (text,) in said] == ["zero � within", r"\\u0000 as typed", "half � a character"]


def test_a_wrong_token_is_refused_and_stands_in_no_sentence(studio, server, serve, caplog):
    box = serve(studio)
    settings = server.settings(box)
    (server.folder / "kiln-1.token").write_text("f" * 64)
    server.collect(box)
    (server.folder / "kiln-1.token").write_text("f" * 64)
    server.collect()
    del settings
    said = server.ask("SELECT trouble FROM lehrling.box")[0][0]
    assert said == "The token is not the one that holds here. On this box, lehrling studio token prints it."
    assert "ffff" not in caplog.text


def test_the_database_is_waited_for_and_nothing_is_lost(studio, server, serve):
    number = studio.fill(until_s=4000.0)
    server.collect(serve(studio))
    server.cluster.stop(at_once=True)
    studio.store(lambda db: readings.append(db, number, [Sample(4005.0, 611.5)]))
    server.collect(rounds=2)
    server.cluster.start()
    server.collect(rounds=2)
    assert collected(server) == rows(studio)


def test_what_takes_several_answers_goes_on_where_it_broke_off(studio, server, serve, monkeypatch):
    number = studio.fill(until_s=4000.0)
    studio.store(lambda db: [notes.add_note(db, number, f"Note {at}", studio.clock.utc()) for at in range(450)])
    wanted = studio.store(lambda db: [(link.no, link.head) for link in links.links(db, number)])
    ask, asked = line.ask, []

    def breaks_off(box, what, **query):
        asked.append(what)
        if what == f"chain/{number}" and asked.count(what) == 2:
            raise line.Silent("the line broke")
        return ask(box, what, **query)

    monkeypatch.setattr(line, "ask", breaks_off)
    server.collect(serve(studio))
    kept = server.ask("SELECT no, head FROM lehrling.link ORDER BY no")
    assert kept == wanted[:len(kept)]
    assert 0 < len(kept) < len(wanted)
    assert server.ask("SELECT trouble FROM lehrling.box") == [("The box does not answer (the line broke).",)]
    server.collect()
    assert server.ask("SELECT no, head FROM lehrling.link ORDER BY no") == wanted
    assert collected(server) == rows(studio)


def test_a_firing_that_ends_while_it_is_asked_about_is_over_here_too(studio, server, serve, monkeypatch):
    number = studio.fill(until_s=4000.0)
    ask = line.ask

    def ends_first(box, what, **query):
        if what.startswith("chain/"):
            studio.store(lambda db: firings.end_firing(db, number, 4000.0, studio.clock.utc(), "maker"))
        return ask(box, what, **query)

    monkeypatch.setattr(line, "ask", ends_first)
    server.collect(serve(studio))
    server.collect()
    assert server.ask("SELECT state FROM lehrling.firing") == [("ended",)]
    assert not any(one.faults for one in server.verified())


def test_what_is_beside_a_firing_is_asked_for_again_by_a_collector_that_was_started_anew(
        studio, server, serve, monkeypatch):
    for at in range(3):
        studio.fill(until_s=700.0, ended=True, title=f"Number {at}")
    ask = line.ask
    monkeypatch.setattr(line, "ask", lambda box, what, **query: {"beside": []} if what == "beside" else ask(
        box, what, **query))
    monkeypatch.setattr("daemon.studio.one_box.MOST_ASKED", 2)  # one firing a round in turn
    box = serve(studio)
    server.collect(box)
    assert server.ask("SELECT count(*) FROM lehrling.firing WHERE beside_mark = ''") == [(3,)]
    monkeypatch.setattr(line, "ask", ask)
    server.collector.close()
    server.collector = None
    server.collect(box)
    assert server.ask("SELECT count(*) FROM lehrling.firing WHERE beside_mark = ''") == [(0,)]
