"""Capital by item of the equipment list: curves of size, pressure and material, brought to the price year.

Order of magnitude for the comparison of designs; a quotation replaces a curve.
"""

from __future__ import annotations

from desalbook.trail import relation, total, where
from desalbook.units import M2, M3, VA, Count, Factor, Fraction, GaugePa, M3PerS, Money, MoneyPerFlow, W

__all__ = [
    "apparent_ratio",
    "area_ratio",
    "capital_cost",
    "contingency_cost",
    "count_ratio",
    "curve_price",
    "direct_cost",
    "escalated_cost",
    "ex_works_factor",
    "indirect_cost",
    "item_capital",
    "item_price",
    "material_cost_factor",
    "pressure_cost_factor",
    "rating_ratio",
    "scaled_cost",
    "specific_capital",
    "volume_of_one",
    "volume_ratio",
]


@relation("Size over base size, apparent power", symbol="r_S", unit="1", source="definition")
def apparent_ratio(item_apparent: VA, base_apparent: VA) -> Factor:
    """Size of a unit over that of its curve, by apparent power.

    Of one transformer, generator or panel.
    """
    return item_apparent / base_apparent


@relation("Size over base size, rated power", symbol="r_S", unit="1", source="definition")
def rating_ratio(item_power: W, base_power: W) -> Factor:
    """Size of an item over that of its cost curve, by rated power.

    Of one unit.
    """
    return item_power / base_power


@relation("Size over base size, volume", symbol="r_S", unit="1", source="definition")
def volume_ratio(item_volume: M3, base_volume: M3) -> Factor:
    """Size of an item over that of its cost curve, by volume.

    Of one tank.
    """
    return item_volume / base_volume


@relation("Size over base size, area", symbol="r_S", unit="1", source="definition")
def area_ratio(item_area: M2, base_area: M2) -> Factor:
    """Size of an item over that of its cost curve, by area.

    Of one: membrane of an element, section of a filter.
    """
    return item_area / base_area


@relation("Size over base size, number", symbol="r_S", unit="1", source="definition")
def count_ratio(item_places: Count, base_places: Count) -> Factor:
    """Size of an item over that of its cost curve, by how many elements or cartridges it holds.

    Of one housing.
    """
    return item_places / base_places


@relation("Volume of one tank", symbol="V_1", unit="m^3", source="definition")
def volume_of_one(volume_together: M3, tanks: Count) -> M3:
    """Volume of one of several equal tanks.

    All are of one size.
    """
    return volume_together / tanks


@relation("Cost scaled by size", symbol="C_S", unit="1", source="williams-1947", place="six-tenths factor",
          note="within the range of the curve; a package bought as a whole scales otherwise")
def scaled_cost(base_cost: Money, size_ratio: Factor, size_exponent: Factor) -> Money:
    """Cost of an item from that of another size: the ratio of sizes to a power.

    Six-tenths where nothing better is known, one for what is added in number.
    """
    return base_cost * size_ratio**size_exponent


@relation("Cost at the price year", symbol="C_I", unit="1", source="vatavuk-2002",
          note="for some five years; over longer spans an index loses its meaning")
def escalated_cost(scaled_cost: Money, price_index: Factor, base_price_index: Factor) -> Money:
    """Cost of one year from that of another by a price index of chemical plant.

    The market of a small trade moves apart from it; some five years are sound.
    """
    return scaled_cost * price_index / base_price_index


@relation("Cost factor ex works", symbol="f_x", unit="1", source="definition",
          note="installation is added once, as a part of the direct cost")
def ex_works_factor(installation_within: Fraction) -> Factor:
    """Price ex works over a price that holds installation, stated as a fraction of the price ex works.

    Of a curve whose source gives installed prices; one for a curve that is ex works already.
    """
    return 1 / (1 + installation_within)


@relation("Cost factor of pressure", symbol="f_p", unit="1", source="common-practice")
def pressure_cost_factor(item_pressure: GaugePa, base_pressure: GaugePa, pressure_exponent: Factor) -> Factor:
    """Cost of another rated pressure over that of the curve: the ratio of pressures to a power.

    Between the standard ratings of one kind of vessel.
    """
    return (item_pressure / base_pressure) ** pressure_exponent


@relation("Cost factor of material", symbol="f_m", unit="1", source="common-practice",
          note="the wetted part alone follows the material; motor, seal and work do not")
def material_cost_factor(material_fraction: Fraction, material_price: Factor, base_material_price: Factor) -> Factor:
    """Cost in another material over that of the curve: the fraction that is material follows its price.

    Both materials carry the same duty; a stronger one may need less of it.
    """
    return 1 + material_fraction * (material_price / base_material_price - 1)


@relation("Price of one by its curve", symbol="C_1", unit="1", source="definition")
def curve_price(escalated_cost: Money, ex_works_factor: Factor, pressure_factor: Factor, material_factor: Factor,
                exchange_rate: Factor, location_factor: Factor) -> Money:
    """Price of one of an item ex works: its curve with the factors of installation, pressure, material and place.

    Order of magnitude; the spread of the curve stands beside it.
    """
    return escalated_cost * ex_works_factor * pressure_factor * material_factor * exchange_rate * location_factor


@relation("Price of one", symbol="C_1", unit="1", source="definition")
def item_price(quoted_price: Money, estimated_price: Money) -> Money:
    """Price of one of an item: its quotation where there is one, else its estimate.

    A quotation of zero is none.
    """
    return where(quoted_price > 0, quoted_price, estimated_price)


@relation("Capital by item", symbol="C_i", unit="1", source="definition")
def item_capital(unit_price: Money, items_installed: Count) -> Money:
    """Equipment cost of an item: price of one, times how many are installed, standby included.

    No discount for number.
    """
    return unit_price * items_installed


@relation("Direct cost", symbol="C_D", unit="1", source="definition")
def direct_cost(equipment_cost: Money, parts_cost: Money, sea_works: Money) -> Money:
    """Direct cost: equipment, the parts that go with it, and the works in the sea.

    Land and the line to the consumer are not in it.
    """
    return equipment_cost + total(parts_cost) + sea_works


@relation("Indirect cost", symbol="C_N", unit="1", source="definition")
def indirect_cost(direct_cost: Money, equipment_cost: Money, engineering_fraction: Fraction,
                  commissioning_fraction: Fraction, freight_fraction: Fraction) -> Money:
    """Indirect cost: engineering and commissioning of the direct cost, freight of the equipment.

    Financing during construction and owner's cost are not in it.
    """
    return direct_cost * (engineering_fraction + commissioning_fraction) + equipment_cost * freight_fraction


@relation("Contingency", symbol="C_C", unit="1", source="definition")
def contingency_cost(direct_cost: Money, indirect_cost: Money, contingency_fraction: Fraction) -> Money:
    """Contingency: a fraction of direct and indirect cost.

    For what is known to be forgotten; not for a change of scope.
    """
    return (direct_cost + indirect_cost) * contingency_fraction


@relation("Capital", symbol="C_0", unit="1", source="definition",
          note="a comparison of designs, not a quotation; its band stands beside it")
def capital_cost(direct_cost: Money, indirect_cost: Money, contingency_cost: Money) -> Money:
    """Capital of the plant: direct, indirect and contingency.

    Money of one year, spent at once: interest during construction is neglected.
    """
    return direct_cost + indirect_cost + contingency_cost


@relation("Capital per capacity", symbol="c_0", unit="s/m^3", source="definition")
def specific_capital(capital_cost: Money, net_product: M3PerS) -> MoneyPerFlow:
    """Capital over the net product of a calendar day.

    Without sea works where none are stated: plant cost, not project cost.
    """
    return capital_cost / net_product
