"""What a design file says of the energy beside the pumps: section ``[energy]``."""

from __future__ import annotations

from desalbook.units import Count, ElectricW, Factor, Fraction, Head, S, Section, field, text_field

__all__ = ["SECTIONS", "Energy"]


def _efficiency(title: str, default: str):
    return field("fraction", default, title=title, symbol="eta", possible=("10 %", "95 %"), usual=("50 %", "85 %"),
                 hint="Pump and motor together")


class Energy(Section):
    """Section ``[energy]``: consumers that are not sized elsewhere, tariff, emissions, costs of machines."""

    intake_head: Head = field("head", "12 m", title="Head of the intake pumps", symbol="H_i",
                              possible=("0 m", "200 m"), usual=("5 m", "30 m"),
                              hint="Sea or well to the raw tank: lift and losses; zero when it flows in")
    intake_efficiency: Fraction = _efficiency("Efficiency of the intake pumps with motor", "68 %")
    product_head: Head = field("head", "30 m", title="Head of the product pumps", symbol="H_w",
                               possible=("0 m", "400 m"), usual=("0 m", "80 m"),
                               hint="Product tank to the point of delivery; zero when another pumps it")
    product_efficiency: Fraction = _efficiency("Efficiency of the product pumps with motor", "70 %")
    dosing_power: ElectricW = field("power.electric", "0.3 kW", title="One dosing pump with its mixer, mean",
                                    symbol="P_d", possible=("0 kW", "20 kW"), usual=("0.05 kW", "1 kW"), scope="unit",
                                    hint="Mean over a day")
    cleanings: Count = field("count", "4", title="Cleanings of a train in a year", symbol="n_c", possible=("0", "60"),
                             usual=("1", "8"), hint="Of one train; heat and pumping are spread over the year")
    batches: Count = field("count", "2", title="Batches of one cleaning that are heated", symbol="n_b",
                           possible=("0", "6"), usual=("1", "3"), hint="An alkaline and an acid one")
    cleaning_time: S = field("time", "8 h", title="Circulation of one batch", symbol="t_c", possible=("0 h", "48 h"),
                             usual=("2 h", "12 h"), hint="Pump and heater run this long")
    other_power: ElectricW = field(
        "power.electric", "5 kW", title="Controls, light, air and the rest of one train, mean", symbol="P_o",
        possible=("0 kW", "2000 kW"), usual=("1 kW", "100 kW"), scope="train",
        hint="An allowance for what is not listed by itself")
    loss_share: Fraction = field("fraction", "2 %", title="Losses of transformer and cables", symbol="x_l",
                                 possible=("0 %", "20 %"), usual=("1 %", "4 %"),
                                 hint="Between the meter and the motors")
    tariff: Factor = field("factor", "0.12", title="Price of a kilowatt-hour", symbol="c_e", possible=("0", "1000"),
                           usual=("0.03", "0.5"), hint="In the currency of energy.currency; not a forecast")
    currency: str = text_field("USD", title="Currency of prices", max_length=10, source="common-practice",
                               hint="Stands beside prices; nothing is converted")
    emission_factor: Factor = field(
        "factor", "0.45", title="Carbon dioxide of a kilowatt-hour, kg", symbol="f_c", possible=("0", "2"),
        usual=("0.02", "0.9"), hint="Ask the utility: grids lie between some 0.02 and 0.9 kg")


SECTIONS = {"energy": Energy}
