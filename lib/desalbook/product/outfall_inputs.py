"""What a design file says of the discharge: section ``[outfall]``."""

from __future__ import annotations

from desalbook.units import Count, M, MPerS, Salinity, Section, field

__all__ = ["Outfall"]


class Outfall(Section):
    """Section ``[outfall]``: ports that throw the reject upward at 60 degrees into the sea."""

    ports: Count = field("count", "1", title="Ports, far enough apart that jets do not merge", symbol="n_p",
                         possible=("1", "200"), usual=("1", "20"),
                         hint="More ports make smaller jets that rise less and thin sooner")
    port_diameter: M | None = field(
        "length.small", None, title="Diameter of one port", symbol="d", possible=("10 mm", "2000 mm"),
        usual=("50 mm", "600 mm"), hint="Where nothing is written, what the velocity asks for")
    port_velocity: MPerS = field("velocity", "5 m/s", title="Velocity at the port wanted", symbol="u",
                                 possible=("0.5 m/s", "15 m/s"), usual=("3 m/s", "7 m/s"),
                                 hint="Faster jets thin more and rise higher")
    excess_limit: Salinity = field(
        "salinity", "2 g/kg", title="Excess of salt allowed at the end of the near field", symbol="Delta_X",
        possible=("0.1 g/kg", "20 g/kg"), usual=("0.5 g/kg", "2 g/kg"), source="ca-ocean-plan",
        hint="From memory: 2 over background at 100 m; the permit governs")
    depth: M = field("length", "12 m", title="Depth of the sea over the port", symbol="h", possible=("0.5 m", "200 m"),
                     usual=("5 m", "40 m"), hint="The jet must stay below the surface")
