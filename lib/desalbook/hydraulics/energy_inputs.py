"""What a design file says of the energy beside the pumps: section ``[energy]``."""

from __future__ import annotations

from desalbook.units import ElectricW, Fraction, Section, field

__all__ = ["SECTIONS", "Energy"]


class Energy(Section):
    """Section ``[energy]``: what comes on top of the pumps."""

    other_power: ElectricW = field(
        "power.electric", "12 kW", title="Intake, dosing, product pump, heating, controls of one train, mean",
        symbol="P_o", possible=("0 kW", "2000 kW"), usual=("2 kW", "100 kW"), scope="train",
        hint="An allowance, until each is sized")
    loss_share: Fraction = field("fraction", "2 %", title="Losses of transformer and cables", symbol="x_l",
                                 possible=("0 %", "20 %"), usual=("1 %", "4 %"))


SECTIONS = {"energy": Energy}
