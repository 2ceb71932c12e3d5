from types import SimpleNamespace

from tirelife.wear.cause import found
from tirelife.wear.cause.found import CAUSE_LOG_SD, CAUSES, RECORDS
from tirelife.wear.cause.record import Cause


def test_every_module_of_the_room_is_a_cause_and_those_that_multiply_come_last():
    assert CAUSES == ("base", "speed", "starts", "stops", "corners", "parking", "alignment", "pressure")
    assert [cause.order for cause in RECORDS] == sorted(cause.order for cause in RECORDS)
    assert {cause.name: cause.log_sd for cause in RECORDS} == CAUSE_LOG_SD


def test_causes_stand_by_their_order_then_by_name(monkeypatch):
    def cause(name, order, whole):
        made = Cause(name, order, name, name, "", False, 0.5, "", of_whole=(lambda p: p) if whole else None)
        return SimpleNamespace(CAUSE=made)

    modules = {
        "b": cause("b", 5, False),
        "a": cause("a", 5, False),
        "z": cause("z", 1, True),
        "c": cause("c", 9, False),
    }
    monkeypatch.setattr(
        found, "iter_modules", lambda path: [SimpleNamespace(name=n) for n in (*modules, "record", "found")]
    )
    monkeypatch.setattr(
        found,
        "import_module",
        lambda name: modules.get(name.rpartition(".")[2], SimpleNamespace(__path__=[])),
    )
    assert [one.name for one in found._found()] == ["a", "b", "c", "z"]
