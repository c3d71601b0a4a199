"""Hand valves, check valves and reducers: the rules hold for every unit and line, and nothing stands there twice."""

from __future__ import annotations

from desalbook.plant.hand_valves import hand_valves, kind_of
from tests import shared

HOOK = {"PIT": lambda _: True, "PDIT": lambda _: True, "LIT": lambda how: how != "Radar", "FIT": lambda _: False,
        "TIT": lambda _: False, "AIT": lambda how: how not in ("Toroidal cell", "Two-electrode cell")}
"""Whether an instrument has valves of its own, by its letters and how it measures: not one in the line or its pipe."""


def judge(plant) -> None:
    of = plant.sized
    found = hand_valves(of)
    tags = [x.row["tag"] for x in found]
    assert len(tags) == len(set(tags))
    assert not set(tags) & {r["tag"] for r in of.equipment}
    owners = {x.owner for x in found}
    units = {r["key"]: r for r in of.equipment if kind_of(r) is not None or (
        "head" in r and not r["key"].startswith(("dosing_", "valve[", "instrument[")))}
    measured = {i["key"]: i for i in of.control.rows()}
    hooked = {k for k, i in measured.items() if HOOK[i["tag"].partition("-")[0]](i["principle"])}
    assert owners == set(units) | set(of.pipes) | hooked
    for key in hooked:
        mine = [x.row for x in found if x.owner == key]
        twice = 2 if measured[key]["tag"].startswith("PDIT") else 1
        assert all(t["of"] == measured[key]["tag"] and t["count"] == twice * measured[key]["count"] for t in mine)
        assert mine[0]["position"] == "open" and len(mine) == (4 if measured[key]["tag"].startswith("AIT") else 2)
    moved = {v["key"] for v in of.valves}
    for key, unit in units.items():
        mine = [x.row for x in found if x.owner == key]
        kinds = {t["title"].partition(": ")[2] for t in mine}
        if "head" in unit and not key.startswith("dosing_"):
            assert {"check valve, discharge", "reducer, discharge", "vent, casing", "drain, casing"} <= kinds
            assert ("isolation, discharge" in kinds) != (key == "hp_pump" and "hp-discharge-valve" in moved)
        if key == "filters":
            assert ("drain" in kinds) != ("filter-drain-valve" in moved)
        assert all(t["count"] == unit["installed_total"] for t in mine if t["type"] == "check" and "dosing" not in key)
    for run in of.pipes:
        mine = [x.row for x in found if x.owner == run]
        assert {"drain, lowest point", "vent, highest point"} <= {t["title"].partition(": ")[2] for t in mine}
        high = float(mine[0]["rated_pressure"]) > 40e5
        assert all((t["type"] == "hand, two in series") == high for t in mine)
        assert run not in ("permeate",) or not any("isolation" in t["title"] for t in mine)


def test_the_harbour_follows_the_rules():
    judge(shared.plant())


def test_sizes_are_those_of_the_runs():
    """The feed pump stands between DN 300 and DN 200; a drain on either is DN 25, a sample DN 15."""
    rows = shared.plant().hand_valves.set_index("tag")
    assert rows.loc["HV-P201-1", "size"] == "DN 300" and rows.loc["HV-P201-2", "size"] == "DN 200"
    assert rows.loc["HV-L201-1", "size"] == "DN 25" and rows.loc["HV-L201-3", "size"] == "DN 15"
    assert rows.loc["HV-L301-1", "material"].startswith("Super duplex")
    assert rows.loc["HV-P101-1", "supply"] == "others", "the intake pump is others' supply"


def test_a_root_valve_is_of_its_line():
    """On the high-pressure run of super duplex, on a plastic line of plastic; a block and a manifold at any rating."""
    rows = shared.plant().hand_valves.set_index("tag")
    assert rows.loc["HV-PIT302-1", "material"].startswith("Super duplex") and rows.loc["HV-PIT302-1", "type"] == "hand"
    assert rows.loc["HV-PIT302-2", "type"] == "manifold, two valves" and rows.loc["HV-PIT302-1", "size"] == "DN 15"
    assert rows.loc["HV-PDIT202-1", "count"] == 4 and rows.loc["HV-LIT210-1", "count"] == 10
    assert rows.loc["HV-LIT101-1", "size"] == "DN 50" and rows.loc["HV-AIT205-4", "position"] == "shut"
    assert not [t for t in rows.index if "FIT" in t or "TIT" in t]
