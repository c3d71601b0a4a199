"""The estimate: capital by item, operating cost by part, and the levelised cost of water, with their band.

A comparison of designs, not a quotation: every curve has a spread, and the class of the estimate a band.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from desalbook.balances import flow_ratio, fraction_of_cost, sum_of_costs
from desalbook.cost import capital as cp
from desalbook.cost import levelised as lv
from desalbook.cost import operating as op
from desalbook.hydraulics.rows import column_line, row_line
from desalbook.problems import DesignError
from desalbook.tables import Row, table
from desalbook.trail import Choice, Column, Figure, Relation, note, picked, scope
from desalbook.trail.inputs import Inputs

__all__ = ["FOLLOW_CAPITAL", "PARTS", "Estimate", "Item", "Running", "cost"]

MEASURES: dict[str, tuple[str, Relation]] = {
    "rating": ("power", cp.rating_ratio),
    "flow": ("flow", flow_ratio),
    "volume": ("volume", cp.volume_ratio),
    "area": ("area", cp.area_ratio),
    "places": ("places", cp.count_ratio),
    "apparent": ("apparent", cp.apparent_ratio),
}
"""What the size of an item is measured by: stem of the arguments' names, and the relation."""
_RATIO_ARGUMENTS = {"flow": ("flow", "reference_flow")}
"""Names of the arguments where they are not those of the measure."""
PARTS = ("installation", "site_piping", "electrical", "civil", "building")
"""Parts of the direct cost that go with the equipment; keys of the section."""
YEARLY = {
    "energy": "Energy", "chemicals": "Chemicals", "elements": "Membrane elements", "cartridges": "Cartridges",
    "labour": "Labour", "maintenance": "Maintenance", "insurance": "Insurance", "discharge": "Discharge",
}
FIXED = ("capital", "elements", "labour", "maintenance", "insurance")
"""Parts of the cost of a year that do not go with the volume delivered."""
FOLLOW_CAPITAL = ("capital", "maintenance", "insurance")
"""Parts of the cost of water that move with the capital."""

@dataclass(frozen=True)
class Item:
    """One item of the equipment list that costs money.

    Parameters
    ----------
    key, title : str
        As in the equipment list.
    row : str
        Row of ``cost_curves``.
    size : Figure
        What the row measures, of one.
    installed : tuple of Figure
        Factors of their number: trains served, duty and standby of one train.
    pressure : Figure or None
        Rated pressure, Pa gauge.
    material : Choice or None
        Material of the wetted part, a row of ``material_prices``.
    price : Figure or None
        Of one, where the section states it.
    machine : str
        Row of ``machine_costs`` that holds the cost for a cubic metre an hour; empty for all others.
    because : sequence
        What decides that the plant has it.
    """

    key: str
    title: str
    row: str
    size: Figure
    trains: Figure | None
    duty: Figure | float
    standby: Figure | float = 0.0
    pressure: Figure | None = None
    material: Choice | None = None
    price: Figure | None = None
    machine: str = ""
    because: tuple[Any, ...] = ()

    @property
    def number(self) -> float:
        """How many are installed in the plant."""
        return (1.0 if self.trains is None else float(self.trains)) * (float(self.duty) + float(self.standby))

    @property
    def counts(self) -> dict[str, Figure]:
        """The figures its number is made of, by name."""
        stated = {"trains": self.trains, "duty": self.duty, "standby": self.standby}
        return {f"{n}_{_name(self.key)}": x for n, x in stated.items() if isinstance(x, Figure)}


@dataclass(frozen=True)
class Running:
    """What a year of running brings from other rooms.

    Parameters
    ----------
    energy, chemicals : Figure
        Cost of a year.
    net_product, raw_flow, delivered : Figure
        Means of calendar days, m3/s; what is delivered by the outage data of the trains.
    element_fraction : Figure
        Of the elements that is replaced in a year.
    availability, change_interval : Figure
        Fraction of the year; time between changes of cartridges, s.
    """

    energy: Figure
    chemicals: Figure
    net_product: Figure
    raw_flow: Figure
    availability: Figure
    change_interval: Figure
    delivered: Figure
    element_fraction: Figure


@dataclass(frozen=True)
class Estimate:
    """Cost of a plant, in the currency of the design.

    Parameters
    ----------
    items : tuple of Item
    unit_prices, capital_by_item : Column
        Price of one and cost of all, by item.
    parts : Column
        Direct cost beside the equipment.
    equipment, direct, indirect, contingency, capital : Figure
    capital_low, capital_high : Figure
        Ends of the band of the class.
    yearly : Column
        Cost of a year by part, capital first.
    operating : Figure
        Of a year.
    water_by_part : Column
        Levelised cost by part, 1/m3.
    water, water_low, water_high : Figure
        Levelised cost, and with the capital at the ends of its band.
    water_delivered : Figure
        Levelised cost of what the trains deliver by their outage data.
    per_capacity : Figure
        Capital over net product, s/m3.
    rows : list of dict
        One row an item, a part of the works and a part of the year.
    """

    items: tuple[Item, ...]
    unit_prices: Column
    capital_by_item: Column
    parts: Column
    equipment: Figure
    direct: Figure
    indirect: Figure
    contingency: Figure
    capital: Figure
    capital_low: Figure
    capital_high: Figure
    yearly: Column
    operating: Figure
    water_by_part: Column
    water: Figure
    water_low: Figure
    water_high: Figure
    water_delivered: Figure
    per_capacity: Figure
    rows: list[dict[str, Any]] = field(default_factory=list)


class _Curve(NamedTuple):
    """The curve of one item: its row, and the cell its cost stands in."""

    row: Row
    item: Item

    @property
    def cost(self):
        """Cost of the base size; of an energy recovery device the table of pressure equipment states it."""
        return table("machine_costs").row(self.item.machine)["per_flow"] if self.item.machine else self.row["cost"]


def cost(inp: Inputs, items: Sequence[Item], running: Running) -> Estimate:
    """Capital, operating cost and levelised cost of a plant.

    Parameters
    ----------
    inp : Inputs
    items : sequence of Item
    running : Running

    Returns
    -------
    Estimate

    Raises
    ------
    DesignError
        A quotation of an item the plant does not have.
    """
    by = {x.key: x for x in items}
    because = [*{x.id: x for item in items for x in item.because}.values()]  # by id: two choices may be one text
    with scope("plant", because=because):
        unit = _prices(inp, by)
        number = _column("cost.installed", {k: x.number for k, x in by.items()}, "count", "Number installed, by item",
                         "n", "trains times duty and standby", {n: f for x in items for n, f in x.counts.items()})
        capital_by_item = cp.item_capital.at("cost.items", unit_price=unit, items_installed=number)
        equipment = sum_of_costs.at("cost.equipment", costs=capital_by_item, title="Equipment cost, ex works",
                                    symbol="C_E")
        shares = _column("cost.part_fractions", {k: float(inp.number(f"cost.{k}")) for k in PARTS}, "fraction",
                         "Fraction of the equipment cost, by part", "x_d", "the parts in order",
                         {k: inp.number(f"cost.{k}") for k in PARTS}, axis="part")
        parts = fraction_of_cost.at("cost.parts", base_of_fraction=equipment, fraction=shares,
                                    title="Direct cost beside equipment, by part", symbol="C_d")
        direct = cp.direct_cost.at("cost.direct", equipment_cost=equipment, parts_cost=parts,
                                   sea_works=inp.number("cost.sea_works"))
        indirect = cp.indirect_cost.at(
            "cost.indirect", direct_cost=direct, equipment_cost=equipment,
            engineering_fraction=inp.number("cost.engineering"),
            commissioning_fraction=inp.number("cost.commissioning"), freight_fraction=inp.number("cost.freight"))
        reserve = cp.contingency_cost.at("cost.contingency_cost", direct_cost=direct, indirect_cost=indirect,
                                         contingency_fraction=inp.number("cost.contingency"))
        capital = cp.capital_cost.at("cost.capital", direct_cost=direct, indirect_cost=indirect,
                                     contingency_cost=reserve)
        chosen = inp.choice("cost.estimate_class")
        ends = {end: row_line(f"cost.band_{end}", "estimate_classes", str(chosen), end, because=[chosen])
                for end in ("low", "high")}
        band = {end: lv.capital_band.at(f"cost.capital_{end}", capital_cost=capital, band=x,
                                        title=f"Capital, {end} end of its band") for end, x in ends.items()}
        yearly, operating = _yearly(inp, running, by, unit, number, capital)
        by_part = lv.cost_per_volume.at("cost.water_by_part", yearly_cost=yearly, net_product=running.net_product)
        water = lv.water_cost.at("cost.water", cost_by_part=by_part)
        follows = _column("cost.water_with_capital", {k: float(by_part[k]) for k in FOLLOW_CAPITAL},
                          "money per volume", "Parts that follow the capital", "c_a", "capital, maintenance, insurance",
                          {"parts": by_part}, axis="part")
        water_band = {end: lv.water_cost_band.at(f"cost.water_{end}", water_cost=water, capital_parts=follows, band=x,
                                                 title=f"Cost of water, {end} end of its band")
                      for end, x in ends.items()}
        fixed = _column("cost.fixed_parts", {k: float(yearly[k]) for k in FIXED}, "money",
                        "Fixed cost of a year, by part", "C_f", "capital, elements, labour and what follows",
                        {"parts": yearly}, axis="part")
        moving = _column("cost.variable_parts", {k: float(by_part[k]) for k in by_part.keys if k not in FIXED},
                         "money per volume", "Variable cost of water, by part", "c_v", "all the others",
                         {"parts": by_part}, axis="part")
        delivered = lv.water_cost_delivered.at(
            "cost.water_delivered", delivered=running.delivered,
            fixed_cost=sum_of_costs.at("cost.fixed_year", costs=fixed, symbol="C_f",
                                       title="Fixed cost of a year"),
            variable_cost=lv.water_cost.at("cost.water_variable", cost_by_part=moving, symbol="c_v",
                                           title="Variable cost of water"))
        per = cp.specific_capital.at("cost.capital_per_capacity", capital_cost=capital,
                                     net_product=running.net_product)
    found = Estimate(tuple(items), unit, capital_by_item, parts, equipment, direct, indirect, reserve, capital,
                     band["low"], band["high"], yearly, operating, by_part, water, water_band["low"],
                     water_band["high"], delivered, per)
    return Estimate(**{**found.__dict__, "rows": _rows(inp, found)})


def _name(key: str) -> str:
    return key.replace("[", "_").rstrip("]").replace(".", "_").replace("-", "_")


def _column(id: str, values: Mapping[str, float], kind: str, title: str, symbol: str, rule: str,
            inputs: Mapping[str, Any], axis: str = "item") -> Column:
    return picked(id, list(values.values()), kind, title=title, symbol=symbol, rule=rule,
                  candidates=[{"key": k, "value": v, "won": True} for k, v in values.items()], inputs=inputs,
                  axis=axis, keys=tuple(values))


def _cells(id: str, curves: Mapping[str, _Curve], name: str, title: str) -> Column:
    return column_line(id, "cost_curves", [(k, c.row[name]) for k, c in curves.items()], axis="item", title=title)


def _quotes(inp: Inputs, items: Mapping[str, Item]) -> dict[str, Figure]:
    found = {}
    for name in inp.names("cost.quotes"):
        if name not in items:
            raise DesignError("the plant has no such item", where="cost.quotes", value=name,
                              allowed=", ".join(items), do="enter the key of an item of the plant")
        found[name] = inp.number(f"cost.quotes[{name}].price")
    return found


def _prices(inp: Inputs, items: Mapping[str, Item]) -> Column:
    """Price of one of each item: its quotation, the price the section states, or its curve."""
    curves = {k: _Curve(table("cost_curves").row(x.row), x) for k, x in items.items()}
    estimated = _estimated(inp, curves)
    stated = {k: x.price for k, x in items.items() if x.price is not None} | _quotes(inp, items)
    quoted = _column("cost.quoted", {k: float(stated.get(k, 0.0)) for k in items}, "money", "Quoted price of one",
                     "C_q", "what the design states; zero where it states nothing",
                     {f"price_{_name(k)}": x for k, x in stated.items()})
    return cp.item_price.at("cost.unit_prices", quoted_price=quoted, estimated_price=estimated)


def _estimated(inp: Inputs, curves: Mapping[str, _Curve]) -> Column:
    ratio = _size_ratios(curves)
    base = column_line("cost.curve", "cost_curves", [(k, c.cost) for k, c in curves.items()], axis="item",
                       title="Cost of the base size, by item")
    scaled = cp.scaled_cost.at("cost.scaled", base_cost=base, size_ratio=ratio,
                               size_exponent=_cells("cost.exponent", curves, "exponent", "Exponent of size, by item"))
    held, year = inp.optional("cost.price_index"), inp.choice("cost.price_year")
    index = held if held is not None else row_line("cost.price_index_auto", "price_index", str(year), "index",
                                                   because=[year], title="Price index of the price year")
    years = column_line("cost.curve_index", "price_index",
                        [(k, table("price_index").row(c.row["year"].value)["index"]) for k, c in curves.items()],
                        axis="item", title="Price index of the curve, by item")
    dated = cp.escalated_cost.at("cost.escalated", scaled_cost=scaled, price_index=index, base_price_index=years)
    return cp.curve_price.at("cost.estimated", escalated_cost=dated, ex_works_factor=_ex_works(curves),
                             pressure_factor=_pressure(curves), material_factor=_material(curves),
                             exchange_rate=inp.number("cost.exchange_rate"),
                             location_factor=inp.number("cost.location_factor"))


def _size_ratios(curves: Mapping[str, _Curve]) -> Column:
    """Size over base size of all items, each by what its curve measures."""
    found: dict[str, float] = {}
    made: dict[str, Column] = {}
    beyond: dict[str, Figure] = {}
    for measure, (stem, relation) in MEASURES.items():
        some = {k: c for k, c in curves.items() if c.row["measure"].value == measure}
        if not some:
            continue
        title = {"rating": "rated power", "places": "number", "apparent": "apparent power"}.get(measure, measure)
        kind = next(iter(some.values())).item.size.kind
        sizes = _column(f"cost.size[{measure}]", {k: float(c.item.size) for k, c in some.items()}, kind.name,
                        f"Size by item: {title}", "S", "what the equipment list says of one",
                        {k: c.item.size for k, c in some.items()})
        base = _cells(f"cost.base_size[{measure}]", some, f"base_{stem}", f"Base size by item: {title}")
        of, over = _RATIO_ARGUMENTS.get(measure, (f"item_{stem}", f"base_{stem}"))
        made[measure] = relation.at(f"cost.size_ratio[{measure}]", title=f"Size over base size: {title}", symbol="r_S",
                                    **{of: sizes, over: base})
        for k in some:
            found[k] = float(made[measure][k])
            row = some[k].row
            if not row["smallest"].value * (1 - 1e-9) <= found[k] <= row["largest"].value * (1 + 1e-9):
                beyond[k] = made[measure][k]
    ordered = {k: found[k] for k in curves}
    ratios = _column("cost.size_ratios", ordered, "factor", "Size over base size, by item", "r_S",
                     "the items in order", dict(made))
    note("cost.curve_range", title="Cost curves within their range", verdict="review" if beyond else "passes",
         why=(f"extrapolated: {'; '.join(curves[k].item.title for k in beyond)}" if beyond
              else "all items lie within the range of their curve"),
         do="Set a quotation of these items (cost.quotes).", inputs={"size_ratios": ratios})
    return ratios


def _factor(id: str, curves: Mapping[str, _Curve], some: Column | None, title: str, symbol: str) -> Column:
    """A factor of some items as a column of all of them, one for those it does not concern."""
    known = {} if some is None else dict(zip(some.keys, some.values, strict=True))
    return _column(id, {k: float(known.get(k, 1.0)) for k in curves}, "factor", title, symbol,
                   "one where it does not apply", {} if some is None else {"factors": some})


def _ex_works(curves: Mapping[str, _Curve]) -> Column:
    some = {k: c for k, c in curves.items() if "installation_within" in c.row}
    factor = cp.ex_works_factor.at("cost.ex_works_factor", installation_within=_cells(
        "cost.installation_within", some, "installation_within",
        "Installation within the curve, by item")) if some else None
    return _factor("cost.ex_works_factors", curves, factor, "Cost factor ex works, by item", "f_x")


def _pressure(curves: Mapping[str, _Curve]) -> Column:
    some = {k: c for k, c in curves.items() if c.item.pressure is not None and "base_pressure" in c.row}
    factor = None
    if some:
        pressures = {k: c.item.pressure for k, c in some.items()}
        factor = cp.pressure_cost_factor.at(
            "cost.pressure_factor",
            item_pressure=_column("cost.rated_pressure", {k: float(x) for k, x in pressures.items()},  # type: ignore[arg-type]
                                  "gauge pressure", "Rated pressure, by item", "p_i", "as the plant has it",
                                  {f"pressure_{_name(k)}": x for k, x in pressures.items()}),
            base_pressure=_cells("cost.base_pressure", some, "base_pressure", "Rated pressure of the curve, by item"),
            pressure_exponent=_cells("cost.pressure_exponent", some, "pressure_exponent",
                                     "Exponent of pressure, by item"))
    return _factor("cost.pressure_factors", curves, factor, "Cost factor of pressure, by item", "f_p")


def _material(curves: Mapping[str, _Curve]) -> Column:
    prices = table("material_prices")
    some = {k: c for k, c in curves.items() if c.item.material is not None and "material" in c.row}
    factor = None
    if some:
        chosen = [c.item.material for c in some.values()]

        def line(id: str, title: str, key: Callable[[_Curve], str], because: Sequence[Any] = ()) -> Column:
            return column_line(id, "material_prices", [(k, prices.row(key(c))["price"]) for k, c in some.items()],
                               axis="item", title=title, because=because)

        factor = cp.material_cost_factor.at(
            "cost.material_factor",
            material_fraction=_cells("cost.material_fraction", some, "material_fraction",
                                     "Fraction of the cost that is material"),
            material_price=line("cost.material_price", "Price of the material over carbon steel",
                                lambda c: str(c.item.material), chosen),
            base_material_price=line("cost.curve_material_price", "The same of the curve's material",
                                     lambda c: c.row["material"].value))
    return _factor("cost.material_factors", curves, factor, "Cost factor of material, by item", "f_m")


def _yearly(inp: Inputs, running: Running, items: Mapping[str, Item], unit: Column, number: Column,
            capital: Figure) -> tuple[Column, Figure]:
    """Cost of a year by part, capital first, and the operating cost."""
    parts: dict[str, Figure] = {"energy": running.energy, "chemicals": running.chemicals}
    elements = {k: x for k, x in items.items() if x.row == "element"}
    replaced = op.replacement_cost.at(
        "cost.replacement_by_item", items_installed=_some(number, elements, "cost.elements_installed", "Elements"),
        unit_price=_some(unit, elements, "cost.element_prices", "Price of one element"),
        yearly_fraction=running.element_fraction, title="Elements replaced in a year, by item")
    parts["elements"] = sum_of_costs.at("cost.elements_year", costs=replaced, symbol="C_y",
                                        title="Replacement of elements in a year")
    parts["cartridges"] = op.cartridge_cost.at(
        "cost.cartridges_year", items_installed=number["cartridge"], unit_price=unit["cartridge"],
        change_interval=running.change_interval, availability=running.availability)
    parts["labour"] = op.labour_cost.at("cost.labour_year", staff=inp.number("cost.staff"),
                                        salary=inp.number("cost.salary"))
    for key in ("maintenance", "insurance"):
        parts[key] = fraction_of_cost.at(f"cost.{key}_year", base_of_fraction=capital, symbol="C_y",
                                         fraction=inp.number(f"cost.{key}"), title=f"{YEARLY[key]} of a year")
    parts["discharge"] = op.discharge_cost.at("cost.discharge_year", raw_flow=running.raw_flow,
                                              net_product=running.net_product,
                                              discharge_fee=inp.number("cost.discharge_fee"))
    column = _column("cost.operating_parts", {k: float(x) for k, x in parts.items()}, "money",
                     "Operating cost of a year, by part", "C_y", "the parts in order", dict(parts), axis="part")
    operating = sum_of_costs.at("cost.operating", costs=column, title="Operating cost of a year", symbol="C_O")
    factor = lv.capital_recovery.at("cost.capital_recovery", discount_rate=inp.number("cost.discount_rate"),
                                    plant_life=inp.number("cost.plant_life"))
    recovered = lv.capital_of_a_year.at("cost.capital_year", capital_cost=capital, capital_recovery_factor=factor)
    both = {"capital": recovered, **parts}
    yearly = _column("cost.yearly", {k: float(x) for k, x in both.items()}, "money", "Cost of a year, by part", "C_y",
                     "capital, then operating cost by part", {"capital": recovered, "operating": column}, axis="part")
    return yearly, operating


def _some(of: Column, items: Mapping[str, Item], id: str, title: str) -> Column:
    return _column(id, {k: float(of[k]) for k in items}, of.kind.name, title, of.symbol, "the elements among the items",
                   {"items": of})


def _rows(inp: Inputs, e: Estimate) -> list[dict[str, Any]]:
    """One row an item, a part of the works and a part of the year."""
    quoted = {k: inp.selected(f"cost.quotes[{k}].offer") for k in inp.names("cost.quotes")}
    rows: list[dict[str, Any]] = []
    for x in e.items:
        row = table("cost_curves").row(x.row)
        stated = x.key in quoted or x.price is not None
        basis = (f"quotation: {quoted[x.key] or 'no offer named'}" if x.key in quoted else
                 "price in the design" if stated else f"curve of {row['year'].value}")
        rows.append({"id": e.capital_by_item.id, "key": x.key, "title": x.title, "group": "equipment",
                     "installed": x.number, "unit_price": float(e.unit_prices[x.key]),
                     "capital": float(e.capital_by_item[x.key]), "spread": 0.0 if stated else row["spread"].value,
                     "basis": basis,
                     "ids": {name: (column.id, x.key) for name, column in (
                         ("unit_price", e.unit_prices), ("capital", e.capital_by_item))}})
    titles = {"installation": "Installation", "site_piping": "Site piping", "electrical": "Electrical and controls",
              "civil": "Civil works", "building": "Building"}
    rows += [{"id": e.parts.id, "key": k, "title": title, "group": "works", "capital": float(e.parts[k]),
              "basis": "fraction of equipment", "ids": {"capital": (e.parts.id, k)}}
             for k, title in titles.items()]
    sea = inp.number("cost.sea_works")
    for key, title, figure, basis in (("sea_works", "Sea works", sea, "as the design states"),
                                      ("indirect", "Engineering, freight, start-up", e.indirect,
                                       "fractions of direct and equipment cost"),
                                      ("contingency", "Contingency", e.contingency,
                                       "fraction of direct and indirect cost")):
        rows.append({"id": figure.id, "key": key, "title": title, "group": "works", "capital": float(figure),
                     "basis": basis, "ids": {"capital": figure.id}})
    names = {"capital": "Capital recovered", **YEARLY}
    rows += [{"id": e.yearly.id, "key": f"year_{k}", "title": names[k], "group": "year",
              "yearly_cost": float(e.yearly[k]), "water_cost": float(e.water_by_part[k]), "basis": "cost of a year",
              "ids": {"yearly_cost": (e.yearly.id, k), "water_cost": (e.water_by_part.id, k)}}
             for k in e.yearly.keys]
    return rows
