"""Hand valves, check valves and reducers: the rules hold for every unit and line, and nothing stands there twice."""

from __future__ import annotations

from desalbook.plant.hand_valves import hand_valves, kind_of
from tests import shared


def judge(plant) -> None:
    of = plant.sized
    found = hand_valves(of)
    tags = [x.row["tag"] for x in found]
    assert len(tags) == len(set(tags))
    assert not set(tags) & {r["tag"] for r in of.equipment}
    owners = {x.owner for x in found}
    units = {r["key"]: r for r in of.equipment if kind_of(r) is not None or (
        "head" in r and not r["key"].startswith(("dosing_", "valve[", "instrument[")))}
    assert owners == set(units) | set(of.pipes)
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
