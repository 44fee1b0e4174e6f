"""The whole look over the box."""

from datetime import timedelta

import pytest

from daemon import installed
from daemon.doctor import examine as look
from daemon.doctor.finding import State
from daemon.store.database import create_database
from daemon.store.safety.copies import make_copy


def examined(box, *, may_open_probe=True):
    result = look.examine(box.places, box, box.computer, may_open_probe=may_open_probe)
    return result, {found.part: found for found in result.findings}


def furnished(box):
    """Give the box all that an owner gives it."""
    (box.data / "phone.url").write_text("json://127.0.0.1:9/x\n")
    (box.data / "phone.url").chmod(0o600)
    (box.data / "passcode").write_text("hash")
    (box.data / "lehrling.toml").write_text(
        '[page]\nhost = "0.0.0.0"\n[[channel]]\nname = "phone"\nurl_file = "phone.url"\n')
    create_database(box.places.record).close()
    make_copy(box.places.record, box.wall - timedelta(hours=9))
    box.daemon_says()


def test_a_furnished_box_has_nothing_to_mend(box):
    furnished(box)
    result, found = examined(box)
    assert [one for one in result.findings if one.state is State.MEND] == []
    assert result.is_good
    assert found["watch"].said == "The daemon watches."
    assert found["probe"].said.startswith("It reads 22 °C")
    assert found["newest copy"].said == "It was made today, and can be read from end to end."


def test_every_line_that_asks_for_an_act_says_which(box):
    result, _ = examined(box)
    assert not result.is_good
    for found in result.findings:
        assert found.said.endswith(".")
        assert found.do or found.state is not State.MEND


def test_a_probe_that_the_daemon_reads_is_never_opened(box, monkeypatch):
    furnished(box)
    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: pytest.fail("the bus was opened"))
    box.daemon_says(temp_c=None, fault="open")
    _, found = examined(box)
    assert found["probe"].state is State.MEND
    assert "open" in found["probe"].said


@pytest.mark.parametrize(("written", "state", "said"), [
    (False, State.MEND, "alive.url: the address of the sign of life is missing."),
    (True, State.GOOD, "Its address is there, in alive.url."),
])
def test_the_address_of_the_sign_of_life_is_looked_for(box, written, state, said):
    (box.data / "lehrling.toml").write_text('[alive]\nurl_file = "alive.url"\n')
    if written:
        (box.data / "alive.url").write_text("http://127.0.0.1:9/\n")
        (box.data / "alive.url").chmod(0o600)
    _, found = examined(box, may_open_probe=False)
    assert found["sign of life"].state is state
    assert said in found["sign of life"].said


@pytest.mark.parametrize(("written", "state", "said"), [
    (False, State.MEND, "mqtt.login: the login of the MQTT broker is missing."),
    (True, State.GOOD, "The kiln is published at broker, under lehrling/kiln."),
])
def test_the_login_of_the_broker_is_looked_for_and_not_shown(box, written, state, said):
    (box.data / "lehrling.toml").write_text('[mqtt]\nhost = "broker"\nlogin_file = "mqtt.login"\n')
    if written:
        (box.data / "mqtt.login").write_text("kiln:geheim\n")
        (box.data / "mqtt.login").chmod(0o600)
    _, found = examined(box, may_open_probe=False)
    assert found["MQTT broker"].state is state
    assert said in found["MQTT broker"].said
    assert "geheim" not in found["MQTT broker"].said


def test_a_probe_that_the_daemon_has_not_is_the_probe_s_line(box):
    box.daemon_says(temp_c=None, fault="silent", trouble=[{"ailing": "probe", "text": "There is no probe. No bus."}])
    _, found = examined(box)
    assert (found["watch"].state, found["probe"].state) == (State.NOTE, State.MEND)
    assert found["watch"].said == "The daemon runs, and waits for a probe."
    assert found["probe"].said == "There is no probe. No bus."


@pytest.mark.parametrize(("kind", "state"), [("bench", State.NOTE), ("max31856", State.MEND)])
def test_only_a_real_kiln_s_page_needs_a_passcode(box, kind, state):
    (box.data / "lehrling.toml").write_text(f'[probe]\nkind = "{kind}"\n')
    _, found = examined(box, may_open_probe=False)
    assert found["page"].state is state


def test_commands_are_told_as_they_have_to_be_typed_on_this_box(box, monkeypatch):
    (box.data / "lehrling.toml").write_text('[probe]\nkind = "max31856"\n')
    (box.data / "passcode").unlink(missing_ok=True)
    _, found = examined(box)
    assert found["page"].said == "It has no passcode yet: it shows nothing until one is chosen."
    assert found["page"].do == "Type on the box: lehrling web --set-passcode"
    monkeypatch.setattr(installed, "service_user", lambda folder: "lehrling")
    assert examined(box)[1]["page"].do == "Type on the box: sudo -u lehrling lehrling web --set-passcode"


def test_a_probe_whose_settings_are_wrong_is_not_opened(box, monkeypatch):
    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: pytest.fail("the bus was opened"))
    (box.data / "lehrling.toml").write_text('[probe]\nthermocouple_type = "X"\n')
    _, found = examined(box)
    assert found["probe"].state is State.MEND
    assert "'X' is unknown" in found["probe"].said


def test_a_stale_word_of_the_daemon_is_not_the_present(box):
    box.daemon_says()
    box.wall += timedelta(minutes=1)
    _, found = examined(box)
    assert found["watch"].state is State.MEND
    assert found["probe"].said == "It reads 22 °C. The converter answers and has its settings."  # its own look


def test_without_a_daemon_the_probe_is_left_alone_where_that_is_asked(box, monkeypatch):
    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: pytest.fail("the bus was opened"))
    _, found = examined(box, may_open_probe=False)
    assert found["probe"].said == "Not known while nobody watches."


def test_the_daemon_s_own_troubles_stand_in_the_line_of_their_part(box):
    furnished(box)
    with (box.data / "lehrling.toml").open("a") as file:
        file.write('[sounder]\npin = "D17"\n')
    box.daemon_says(trouble=[{"ailing": "sounder", "text": "There is no sounder at the kiln. Pin D17 is busy."},
                              {"ailing": "record", "text": "The record can't be written."},
                              {"ailing": "copies", "text": "Newest copy elsewhere: 9 days ago."}])
    _, found = examined(box)
    assert (found["sounder"].state, found["sounder"].said) == (
        State.MEND, "There is no sounder at the kiln. Pin D17 is busy.")
    assert (found["watch"].state, found["watch"].said) == (State.MEND, "The record can't be written.")


def test_a_typo_in_the_settings_is_named_and_the_rest_is_still_looked_at(box):
    furnished(box)
    (box.data / "lehrling.toml").write_text('[page]\nport = "8o80"\n')
    _, found = examined(box)
    assert found["settings"].state is State.MEND
    assert "[page] port" in found["settings"].said
    assert found["record"].state is State.GOOD


def test_an_address_that_everybody_can_read_is_named_but_not_shown(box):
    furnished(box)
    (box.data / "phone.url").chmod(0o644)
    _, found = examined(box)
    line = found["channel phone"]
    assert line.state is State.MEND
    assert "json://" not in line.said + line.do
    assert line.do.startswith("chmod 640")


def test_a_damaged_newest_copy_is_found(box):
    furnished(box)
    copy = next((box.data / "backups").glob("lehrling-*.db"))
    broken = bytearray(copy.read_bytes())
    broken[4096:8192] = bytes(4096)  # the second page
    copy.write_bytes(broken)
    _, found = examined(box)
    assert found["newest copy"].state is State.MEND
    assert "damaged" in found["newest copy"].said


def test_an_old_copy_is_told(box):
    furnished(box)
    box.wall += timedelta(days=4)
    box.daemon_says()
    _, found = examined(box)
    assert found["newest copy"].state is State.MEND
    assert "4 days ago" in found["newest copy"].said


def test_a_file_that_is_no_record_is_told_and_left(box):
    furnished(box)
    box.places.record.write_bytes(b"no database at all" * 300)
    _, found = examined(box)
    assert found["record"].state is State.MEND
    assert box.places.record.read_bytes().startswith(b"no database")


def test_the_look_changes_nothing_in_the_folders(box):
    furnished(box)

    def all_files():
        return {path: path.read_bytes() for place in (box.data, box.run) for path in place.rglob("*")
                if path.is_file() and not path.name.endswith(("-wal", "-shm"))}

    before = all_files()
    examined(box)
    assert all_files() == before


def test_a_kept_result_comes_back_as_it_was(box):
    result, _ = examined(box)
    look.keep(result, box.data)
    assert look.kept(box.data) == result


@pytest.mark.parametrize("text", ["", "[]", '{"checked_utc": 5}', '{"findings": []}'])
def test_a_kept_result_that_makes_no_sense_is_none(box, text):
    (box.data / look.KEPT_NAME).write_text(text)
    assert look.kept(box.data) is None
