"""Outfall: the near field of a dense jet thrown upward at 60 degrees into the sea."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from desalbook.hydraulics.constants import G
from desalbook.hydraulics.pipes import minimum_diameter, pipe_velocity
from desalbook.trail import Figure, checked, constant, note, picked, relation, values
from desalbook.trail.inputs import Inputs
from desalbook.units import Count, Factor, KgPerM3, M, M3PerS, MPerS, MPerS2, Salinity, show

__all__ = [
    "CAUTION",
    "Jet",
    "excess_at",
    "excess_left",
    "impact_dilution",
    "impact_distance",
    "jet_froude",
    "jet_rise",
    "layer_thickness",
    "near_field_dilution",
    "near_field_length",
    "outfall",
    "port_flow",
    "reduced_gravity",
]

CAUTION = ("Concentrate can harm life on the sea bed. Discharge needs a permit and a site study: currents, slopes and "
           "neighbouring jets are outside the relation for one jet in still water.")
PLACE = "60 degrees, still deep water; from memory"
NOTE = "one jet at 60 degrees in still, deep water, Froude number above 20; currents change it, neighbours merge"
FROUDE_LOW = constant("Fr_min", 20.0, "1", source="roberts-1997",
                      title="Minimum Froude number of the jet relations")
MOST_PORTS = constant("n_p,max", 20, "1", source="common-practice", title="Maximum number of ports of one outfall")


@relation("Flow of one port", symbol="Q_1", unit="m^3/s", source="definition")
def port_flow(reject_flow: M3PerS, trains: Count, ports: Count) -> M3PerS:
    """Flow of one port of the outfall: all trains, shared between like ports.

    Even shares: a long manifold gives its ends more or less.
    """
    return reject_flow * trains / ports


@relation("Excess of salt", symbol="Delta_X", unit="1", source="definition")
def excess_left(salinity: Salinity, ambient_salinity: Salinity) -> Salinity:
    """Excess of salt over the sea around.

    Signed: negative where the discharge is fresher.
    """
    return salinity - ambient_salinity


@relation("Reduced gravity of the jet", symbol="g_0", unit="m/s^2", source="roberts-1997")
def reduced_gravity(jet_density: KgPerM3, ambient_density: KgPerM3) -> MPerS2:
    """Reduced gravity of a dense jet: gravity on the difference of density.

    For small differences; on the density of the sea around.
    """
    return G * (jet_density - ambient_density) / ambient_density


@relation("Froude number of the jet", symbol="F", unit="1", source="roberts-1997")
def jet_froude(jet_velocity: MPerS, reduced_gravity: MPerS2, port_diameter: M) -> Factor:
    """Densimetric Froude number of the jet: momentum over buoyancy at the port.

    At the port; a check valve or a worn port changes it.
    """
    return jet_velocity / (reduced_gravity * port_diameter) ** 0.5


@relation("Maximum rise of the jet", symbol="y_t", unit="m", source="roberts-1997", place=PLACE,
          note=NOTE)
def jet_rise(port_diameter: M, jet_froude: Factor) -> M:
    """Maximum rise of a dense jet at 60 degrees: its top over the port.

    Still deep water, Froude number above 20; where it meets the surface it does not hold.
    """
    return 2.2 * port_diameter * jet_froude


@relation("Distance to where the jet lands", symbol="x_i", unit="m", source="roberts-1997", place=PLACE,
          note=NOTE)
def impact_distance(port_diameter: M, jet_froude: Factor) -> M:
    """Distance along the bed to where a dense jet lands.

    Still deep water, flat bed, Froude number above 20; a slope carries it further.
    """
    return 2.4 * port_diameter * jet_froude


@relation("Dilution where the jet lands", symbol="S_i", unit="1", source="roberts-1997", place=PLACE,
          note=NOTE + "; 1.6 within 0.12")
def impact_dilution(jet_froude: Factor) -> Factor:
    """Minimum dilution where a dense jet lands on the bed.

    1.6 within 0.12 times the Froude number; neighbours that merge thin less.
    """
    return 1.6 * jet_froude


@relation("Length of the near field", symbol="x_n", unit="m", source="roberts-1997", place=PLACE,
          note=NOTE)
def near_field_length(port_diameter: M, jet_froude: Factor) -> M:
    """Length of the near field, where the jet's own mixing ends.

    Still deep water, Froude number above 20; currents shorten it.
    """
    return 9.0 * port_diameter * jet_froude


@relation("Dilution at the end of the near field", symbol="S_n", unit="1", source="roberts-1997", place=PLACE,
          note=NOTE)
def near_field_dilution(jet_froude: Factor) -> Factor:
    """Dilution at the end of the near field.

    Not to be taken for that where the jet lands; still deep water.
    """
    return 2.6 * jet_froude


@relation("Thickness of the layer on the bed", symbol="y_l", unit="m", source="roberts-1997", place=PLACE,
          note=NOTE)
def layer_thickness(port_diameter: M, jet_froude: Factor) -> M:
    """Thickness of the layer that spreads on the bed downstream of the near field.

    Still deep water on a flat bed.
    """
    return 0.7 * port_diameter * jet_froude


@relation("Salinity after dilution", symbol="X_d", unit="1", source="definition")
def excess_at(jet_salinity: Salinity, ambient_salinity: Salinity, jet_dilution: Factor) -> Salinity:
    """Salinity after dilution: the excess shared by the dilution.

    Of the concentrate with water of the sea around; by mass where the densities differ little.
    """
    return ambient_salinity + (jet_salinity - ambient_salinity) / jet_dilution


@dataclass(frozen=True)
class Jet:
    """A dense jet: Froude number, rise (m), distance to where it lands (m), dilution and length of the near field."""

    froude: Figure
    rise: Figure
    impact: Figure
    dilution: Figure
    near_field: Figure


def outfall(
    inp: Inputs, *, reject_flow: Figure, trains: Figure, density: Figure, salinity: Figure, ambient_density: Figure,
    ambient_salinity: Figure,
) -> Jet:
    """Judge the jets of an outfall.

    Parameters
    ----------
    inp : Inputs
    reject_flow : Figure
        m3/s of one train.
    trains : Figure
    density, salinity : Figure
        Of the concentrate, kg/m3 and kg/kg.
    ambient_density, ambient_salinity : Figure
        Of the sea around.
    """
    discharge = {"reject_flow": reject_flow, "trains": trains, "density": density, "salinity": salinity,
                 "ambient_density": ambient_density, "ambient_salinity": ambient_salinity}
    ports = inp.optional("outfall.ports")
    if ports is None:
        ports = _pick_ports(inp, discharge)
    port, froude, rise, far, excess = _jet(inp, ports=ports, **discharge)
    both = {"port_diameter": port, "jet_froude": froude}
    impact = impact_distance.at("outfall.impact", **both)
    near = near_field_length.at("outfall.near_field", **both)
    layer_thickness.at("outfall.layer", **both)
    landed = impact_dilution.at("outfall.dilution_impact", jet_froude=froude)
    _excess("impact", landed, salinity, ambient_salinity)
    checked("outfall.excess.check", excess, "<=", inp.number("outfall.excess_limit"),
            title="Salinity increment, edge of near field", source="ca-ocean-plan",
            do="use more ports (outfall.ports), smaller ones (outfall.port_diameter), or dilute before the outfall",
            caution=CAUTION)
    checked("outfall.rise.check", rise, "<=", inp.number("outfall.depth"), title="Jet below the surface",
            do="use more ports (outfall.ports), a lower outfall.port_velocity, or deeper water (outfall.depth)",
            caution=CAUTION)
    proved = float(froude) > FROUDE_LOW.value
    note("outfall.range", title="Range of the jet's relation", verdict="passes" if proved else "review",
         why=f"the Froude number lies {'above' if proved else 'below'} 20",
         do="raise outfall.port_velocity", inputs={"froude": froude}, caution=CAUTION)
    return Jet(froude, rise, impact, far, near)


def _jet(inp: Inputs, *, reject_flow: Figure, trains: Figure, ports: Any, density: Figure, salinity: Figure,
         ambient_density: Figure, ambient_salinity: Figure) -> tuple[Any, Any, Any, Any, Any]:
    """Diameter of a port (m), Froude number, rise (m), dilution and excess of salt at the end of the near field."""
    one = port_flow.at("outfall.port_flow", reject_flow=reject_flow, trains=trains, ports=ports)
    said = inp.optional("outfall.port_diameter")
    port = said if said is not None else minimum_diameter.at(
        "outfall.port", flow=one, velocity_limit=inp.number("outfall.port_velocity"), title="Diameter of one port")
    speed = pipe_velocity.at("outfall.velocity", flow=one, inner_diameter=port, title="Velocity at the port")
    pull = reduced_gravity.at("outfall.reduced_gravity", jet_density=density, ambient_density=ambient_density)
    froude = jet_froude.at("outfall.froude", jet_velocity=speed, reduced_gravity=pull, port_diameter=port)
    rise = jet_rise.at("outfall.rise", port_diameter=port, jet_froude=froude)
    far = near_field_dilution.at("outfall.dilution", jet_froude=froude)
    return port, froude, rise, far, _excess("near", far, salinity, ambient_salinity)


def _excess(name: str, dilution: Any, salinity: Figure, ambient_salinity: Figure) -> Any:
    """Excess of salt (kg/kg) where the jet has thinned so far."""
    diluted = excess_at.at(f"outfall.salinity[{name}]", jet_salinity=salinity, ambient_salinity=ambient_salinity,
                           jet_dilution=dilution)
    return excess_left.at(f"outfall.excess[{name}]", salinity=diluted, ambient_salinity=ambient_salinity)


def _pick_ports(inp: Inputs, discharge: dict[str, Figure]) -> Figure:
    """Minimum number of ports whose jets stay below the surface and thin enough; the maximum where none does."""
    depth, allowed = inp.number("outfall.depth"), inp.number("outfall.excess_limit")
    candidates: list[dict[str, Any]] = []
    with values(keep=False):
        for number in range(1, int(MOST_PORTS.value) + 1):
            _, _, rise, _, excess = _jet(inp, ports=number, **discharge)
            fits = float(rise) <= float(depth) and float(excess) <= float(allowed)
            candidates.append({"key": str(number), "value": number, "rise": float(rise), "excess": float(excess),
                               "won": fits})
            if fits:
                break
    candidates[-1]["won"] = True  # where even the maximum does not do, the checks say by how much
    before = candidates[-2] if len(candidates) > 1 else None
    why = ("one is enough" if before is None else
           f"{before['key']} would rise {show(before['rise'], 'length')} and leave "
           f"{show(before['excess'], 'salinity')} of excess salt")
    return picked("outfall.ports", candidates[-1]["value"], "count", title="Ports of the outfall", symbol="n_p",
                  rule="minimum number whose jets stay below the surface and within the excess of salt allowed",
                  candidates=candidates, inputs={"depth": depth, "excess_limit": allowed, **discharge}, why=why,
                  source="common-practice")
