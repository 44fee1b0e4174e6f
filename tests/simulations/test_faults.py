"""How faults are spelt."""

from __future__ import annotations

import pytest

from simulations.faults import KINDS, Fault, FaultError, parse, parse_all


@pytest.mark.parametrize(("spec", "fault"), [
    ("cooling=2.5@step4:ramp+60s", Fault("cooling", 2.5, None, None, 4, "ramp", 60.0)),
    ("cooling@step4:ramp", Fault("cooling", 2.5, None, None, 4, "ramp", 0.0)),
    ("cooling=2.5,30min@step4:ramp", Fault("cooling", 2.5, 1800.0, None, 4, "ramp", 0.0)),
    ("cooling=30min,4@step4", Fault("cooling", 4.0, 1800.0, None, 4, "ramp", 0.0)),
    ("open@step4:hold+600s", Fault("open", None, None, None, 4, "hold", 600.0)),
    ("open@step4:hold+10min", Fault("open", None, None, None, 4, "hold", 600.0)),
    ("open=5min@2h", Fault("open", None, 300.0, 7200.0)),
    ("frozen=10min@step4:hold", Fault("frozen", None, 600.0, None, 4, "hold", 0.0)),
    ("flickers@1h", Fault("flickers", 30.0, None, 3600.0)),
    ("flickers=60,10min@1h", Fault("flickers", 60.0, 600.0, 3600.0)),
    ("open@3600s", Fault("open", None, None, 3600.0)),
    ("open@3600", Fault("open", None, None, 3600.0)),
    ("power-cut@step3:hold", Fault("power-cut", None, None, None, 3, "hold", 0.0)),
    ("power-cut=120s@step3:hold", Fault("power-cut", None, 120.0, None, 3, "hold", 0.0)),
    ("power-cut=120@step3:hold", Fault("power-cut", None, 120.0, None, 3, "hold", 0.0)),
    ("restart@step2:hold", Fault("restart", None, 60.0, None, 2, "hold", 0.0)),
    ("lid=90s@step4:ramp", Fault("lid", None, 90.0, None, 4, "ramp", 0.0)),
    ("skip-hold@step3", Fault("skip-hold", None, None, None, 3, "hold", 0.0)),
    ("hold-short=0.3@step3", Fault("hold-short", 0.3, None, None, 3, "hold", 0.0)),
    ("hold-off=-15@step3", Fault("hold-off", -15.0, None, None, 3, "hold", 0.0)),
    ("vent@below200", Fault("vent", 1.0, passing_c=200.0, rising=False)),
    ("lid=20s@above600", Fault("lid", None, 20.0, passing_c=600.0)),
    ("start-late=15min", Fault("start-late", None, 900.0, 0.0)),
    ("start-early", Fault("start-early", None, 900.0, 0.0)),
    (" runaway @ step2:ramp + 5min ", Fault("runaway", None, None, None, 2, "ramp", 300.0)),
])
def test_a_fault_reads_as_it_is_spelt(spec, fault):
    assert parse(spec) == fault


def test_an_unknown_fault_lists_all():
    with pytest.raises(FaultError) as caught:
        parse("gremlin@3600s")
    assert all(name in str(caught.value) for name in KINDS)
    assert "'gremlin'" in str(caught.value)


@pytest.mark.parametrize(("spec", "told"), [
    ("open", "when? Write open@step4:ramp+60s"),
    ("cooling=2.5", "when? Write cooling=2.5@step4:ramp+60s"),
    ("cooling=fast@step4", "'fast' is no figure"),
    ("cooling=-2@step4", "outside 0.05 to 20"),
    ("cooling=200@step4", "outside 0.05 to 20"),
    ("hold-short=30@step3", "outside 0 to 1"),
    ("skip-hold=60s@step3", "has no length"),
    ("open@step0", "count from 1"),
    ("open@breakfast", "'breakfast' is no time"),
    ("open@step4:soak", "is no time"),
    ("open@below", "is no time"),
    ("lid@-5", "'-5' is no time of the firing"),
    ("open@step4:ramp+-5s", "'-5s' is before open can happen"),
    ("open=-5s@2h", "a length is not below 0"),
    ("open@step4:hold+soon", "'soon' is no figure"),
    ("open@", "'' is no time"),
    ("open=@3600s", "'' is no figure"),
    ("", "is not a fault"),
])
def test_what_cannot_be_read_is_named_with_what_to_write(spec, told):
    with pytest.raises(FaultError) as caught:
        parse(spec)
    assert told in str(caught.value)


def test_faults_compose_in_their_order():
    assert [f.name for f in parse_all(["start-late=1h", "open@2h", "cooling=2@step4"])] == [
        "start-late", "open", "cooling",
    ]


def test_every_fault_can_be_spelt_and_says_what_it_is():
    for kind in KINDS.values():
        assert parse(f"{kind.name}@step1:hold").name == kind.name
        assert kind.meaning
