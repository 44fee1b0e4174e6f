"""The steps of an update, on a computer of paper whose versions watch or do not."""

from pathlib import Path

import pytest

from daemon.errors import BadInput
from daemon.update.steps import WATCHES_S, Kiln, NotInstalled, Outcome, Package, update


class Paper:
    """A computer: ``watching`` names the versions whose daemon watches, ``broken`` those that do not install."""

    def __init__(self, watching=("1.0", "1.1"), broken=(), temp_c=21.0, firing=False):
        self.s, self.version, self.further = 1000.0, "1.0", []
        self.watching, self.broken, self.temp_c, self.firing = watching, broken, temp_c, firing
        self.files = {Path("new.deb"): Package("lehrling", "1.1", "arm64")}
        self.has_record, self.record_of = True, "1.0"
        self.falls, self.did = False, []

    def now_s(self):
        return self.s

    def wait(self, seconds):
        self.s += seconds

    def package(self, file):
        return self.files[file]

    def installed(self):
        return Package("lehrling", self.version, "arm64")

    def kiln(self):
        reads = self.version in self.watching and not (self.version == "1.0" and self.record_of == "1.1")
        return Kiln(self.temp_c, self.firing, self.s) if reads else None

    def further_kilns(self):
        return self.further

    def daemon_falls(self):
        return self.falls and self.version == "1.1"

    def copy_record(self):
        self.did.append("copy")
        return Path("copy.db") if self.has_record else None

    def keep_installed(self):
        self.did.append("keep")
        self.files[Path("kept.deb")] = self.installed()
        return Path("kept.deb")

    def install(self, file):
        version = self.files[file].version
        self.did.append(f"install {version}")
        if version in self.broken:
            raise NotInstalled("dpkg: no room")
        self.version = version

    def record_is_newer(self):
        return self.record_of == "1.1"

    def put_back(self, copy):
        self.did.append("put back")
        self.record_of = "1.0"
        return Path("aside.db")


def updated(system, **options):
    said = []
    outcome = update(Path("new.deb"), system, said.append, **options)
    return outcome, said


def test_a_version_that_watches_stays_and_the_copy_comes_before_it():
    system = Paper()
    outcome, said = updated(system)
    assert (outcome, system.version) == (Outcome.DONE, "1.1")
    assert system.did == ["copy", "keep", "install 1.1"]
    assert said[-1] == "Version 1.1 watches."


def test_a_version_that_does_not_watch_is_gone_again_within_minutes():
    system = Paper(watching=("1.0",))
    outcome, said = updated(system)
    assert (outcome, system.version) == (Outcome.WENT_BACK, "1.0")
    assert system.did == ["copy", "keep", "install 1.1", "install 1.0"]
    assert system.s - 1000.0 <= 2 * WATCHES_S
    assert said[-1] == "Version 1.0 is back and watches."


def test_a_daemon_that_falls_again_and_again_is_not_waited_for():
    system = Paper(watching=("1.0",))
    system.falls = True
    assert updated(system)[0] is Outcome.WENT_BACK
    assert system.s - 1000.0 < 30.0


def test_a_record_that_the_new_version_changed_is_set_aside_before_going_back():
    system = Paper(watching=("1.0",))
    install = system.install

    def installing(file):
        install(file)
        if system.version == "1.1":
            system.record_of = "1.1"

    system.install = installing
    outcome, said = updated(system)
    assert outcome is Outcome.WENT_BACK
    assert system.did == ["copy", "keep", "install 1.1", "put back", "install 1.0"]
    assert any("set aside as aside.db" in sentence for sentence in said)


def test_one_that_does_not_even_install_leaves_the_last_one_watching():
    system = Paper(broken=("1.1",))
    outcome, said = updated(system)
    assert (outcome, system.version) == (Outcome.WENT_BACK, "1.0")
    assert any("no room" in sentence for sentence in said)


def test_where_neither_watches_the_maker_is_sent_to_the_kiln():
    system = Paper(watching=("1.0",))
    install = system.install

    def installing(file):
        install(file)
        system.watching = ()

    system.install = installing
    outcome, said = updated(system)
    assert outcome is Outcome.STUCK
    assert "kiln's own display" in said[-1]


def test_nor_is_a_further_kiln_that_is_hot():
    system = Paper()
    system.further = [Kiln(20.0, False, 1000.0), Kiln(516.0, True, 1000.0)]
    with pytest.raises(BadInput, match="the kiln is at 516 °C, and nobody watches during an update"):
        updated(system)
    assert updated(system, while_hot=True)[0] is Outcome.DONE


@pytest.mark.parametrize(("temp_c", "firing", "told"), [
    (516.0, True, "the kiln is at 516 °C"), (100.0, False, "the kiln is at 100 °C"), (22.0, True, "a firing is open"),
    (None, True, "a firing is open"),
])
def test_a_hot_kiln_is_not_left_alone_unless_told(temp_c, firing, told):
    system = Paper(temp_c=temp_c, firing=firing)
    with pytest.raises(BadInput, match=told):
        updated(system)
    assert system.did == []
    outcome, _ = updated(system, while_hot=True)
    assert outcome is Outcome.DONE


@pytest.mark.parametrize(("package", "told"), [
    (Package("paint", "1.1", "arm64"), "not 'lehrling'"), (Package("lehrling", "1.1", "amd64"), "is for amd64"),
])
def test_another_package_is_refused_before_anything_is_done(package, told):
    system = Paper()
    system.files[Path("new.deb")] = package
    with pytest.raises(BadInput, match=told):
        updated(system)
    assert system.did == []


def test_the_same_version_is_left_alone():
    system = Paper()
    system.files[Path("new.deb")] = system.installed()
    assert updated(system)[0] is Outcome.SAME
    assert system.did == []


def test_where_nobody_watched_before_the_new_version_is_not_blamed():
    system = Paper(watching=())
    outcome, said = updated(system)
    assert (outcome, system.version) == (Outcome.DONE, "1.1")
    assert "does not watch just now" in said[0]


def test_a_record_that_is_not_there_yet_needs_no_copy():
    system = Paper()
    system.has_record = False
    assert updated(system)[0] is Outcome.DONE
