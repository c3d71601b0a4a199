"""`rate`: the sized membranes held, the conditions varied, all cases at once."""

from __future__ import annotations

from typing import Any

import numpy as np

from desalbook.membrane import transport as t
from desalbook.plant.solve_closed import solve_closed
from desalbook.problems import DesignError
from desalbook.water import purewater
from desalbook.water.phreeqc_bridge import Water, property_curves

__all__ = ["CONTROLS", "rate"]

CONTROLS = ("product-flow",)
_SHOWN = {"permeate_tds": "permeate_tds", "permeate_boron": "permeate_boron", "concentrate_tds": "concentrate_tds",
          "pressure_drop": "pressure_drop", "beta_max": "beta_max", "lead_flux": "lead_flux", "flux": "flux"}


def rate(sized: Any, *, temperature: Any = None, salinity: Any = None, age: Any = None,
         control: str = "product-flow") -> list[dict[str, Any]]:
    """Rate the membranes of one train over broadcast arrays of conditions.

    Parameters
    ----------
    sized : Sized
    temperature : array_like, optional
        K; the design temperature where left out.
    salinity : array_like, optional
        Kilogram of salt per kilogram of water, the ions in the proportions of the analysis.
    age : array_like, optional
        s; the age of the aged corner where left out. Fouling goes in with age, in proportion.
    control : {"product-flow"}
        Feed and permeate flow are held by the speed of the pump; the feed pressure is the answer.

    Returns
    -------
    list of dict
        A case each, SI units; ``reason`` says why a case has no answer.
    """
    if control not in CONTROLS:
        raise DesignError("no such control", where="control", value=control, allowed=", ".join(CONTROLS))
    ledger, parts = sized.ledger, sized.parts
    w, a = parts["waters"], parts["array"]
    an = w.analysis
    oldest = float(ledger["membrane.age"])
    grid = np.broadcast_arrays(*[np.atleast_1d(np.asarray(v, dtype=float)) for v in (
        float(w.at["design"].temperature) if temperature is None else temperature,
        float(an.salinity) if salinity is None else salinity, oldest if age is None else age)])
    temp, sal, years = (g.ravel() for g in grid)
    amounts = {k: float(v) for k, v in an.molality.items()}
    water = Water.of(amounts, ph=float(an.ph), temperature=float(an.temperature))
    levels, which = np.unique(temp, return_inverse=True)
    curves = [property_curves(water, float(k)) for k in levels]
    fouling = 1 - (1 - float(ledger["membrane.fouling_factor"])) * (years / oldest if oldest else 0.0)
    factor = {n: t.temperature_factor.plain(float(ledger[f"membrane.{n}_activation"]), temp)
              for n in ("water", "salt", "boron")}
    rise, e = float(ledger["membrane.yearly_salt_rise"]), a.element

    def passage(figure, name):
        return t.salt_permeability.plain(float(figure), factor[name], rise, years)

    fixed = dict(
        vessels=float(a.vessels), elements=int(ledger["membrane.elements"]),
        permeate_flow=float(parts["duty"].train_permeate), feed_pressure=60e5, temperature=temp,
        permeate_pressure=float(ledger["membrane.permeate_pressure"]),
        water_permeability=t.water_permeability.plain(float(e.water_permeability), factor["water"], float(
            ledger["membrane.yearly_flow_loss"]), years, fouling),
        salt_permeability=passage(e.salt_permeability, "salt"),
        boric_acid_permeability=passage(e.boric_acid_permeability, "boron"),
        borate_permeability=passage(e.borate_permeability, "salt"),
        ph_total=parts["feed"].ph_total_at(temp, sal / float(an.salinity)),
        water_viscosity=np.array([purewater.viscosity(float(k)) for k in levels])[which],
        osmotic=np.array([c.osmotic.coefficients for c in curves])[which],
        density=np.array([c.density.coefficients for c in curves])[which], element_area=float(e["area"]),
        element_length=float(e["length"]), spacer_height=float(e["spacer_height"]),
        spacer_porosity=float(e["spacer_porosity"]), port_loss=float(ledger["membrane.port_loss"]))
    boron = float(w.boron) * sal / float(an.salinity)
    r, *_ = solve_closed(fixed, sal, boron, float(a.feed_flow), float(parts["device"].mixing or 0.0),
                         int(ledger["membrane.slices"]))
    return [{"id": f"rate[{i}]", "temperature": temp[i], "salinity": sal[i], "age": years[i],
             "feed_pressure": r.feed_pressure[i] if r.solved[i] else np.nan,
             **{k: r.out[v][i] if r.solved[i] else np.nan for k, v in _SHOWN.items()}, "reason": r.reason[i]}
            for i in range(len(temp))]
