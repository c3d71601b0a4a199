"""Boron and TDS of the product in each case of a rating: the permeate, its treated feed, the doses as sized."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from desalbook.plant import Sized
from desalbook.product.blending import blended_boron, finished_tds, minerals_added
from desalbook.product.routes import route_of
from desalbook.trail import values

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["PRODUCT", "guaranteed", "product_water"]

PRODUCT = {"product_boron": "concentration as B", "product_tds": "concentration"}
"""Columns of `product_water`, with their kinds."""
_GUARANTEES = {"boron": "product_boron", "tds": "product_tds"}


def product_water(sized: Sized, frame: pd.DataFrame) -> dict[str, np.ndarray]:
    """Boron and TDS of the product of each case of a rating, kg/m3.

    Post-treatment keeps the doses of the design; the fraction of treated feed is as sized, and its ions go with the
    salinity of the case.

    Parameters
    ----------
    sized : Sized
    frame : DataFrame
        Of `desalbook.rate`.

    Returns
    -------
    dict of str to array
    """
    book, finish = sized.ledger, sized.finish
    blends = route_of(str(book["product.remineralisation"])).blends
    share = float(book["product.blend_fraction"]) if blends else 0.0
    content, sea = float(finish.water_content), float(sized.waters.analysis.salinity)
    tds, salinity = frame["permeate_tds"].to_numpy(float), frame["salinity"].to_numpy(float)
    boron = frame["permeate_boron"].to_numpy(float)
    with values(keep=False):
        def finished(permeate: Any, salt: Any, minerals: Any) -> Any:
            return finished_tds.at("value", permeate_tds=permeate, salinity=salt, water_content=content,
                                   blend_fraction=share, minerals=minerals)

        minerals = minerals_added.at("value", product_tds=float(finish.tds), unfinished_tds=finished(
            float(sized.array.governing["permeate_tds"]), sea, 0.0))
        if blends:
            boron = np.asarray(blended_boron.at("value", boron_permeate=boron, water_content=content,
                                                boron_ratio=float(sized.waters.boron) * salinity / sea,
                                                blend_fraction=share))
        return {"product_boron": boron, "product_tds": np.asarray(finished(tds, salinity, minerals))}


def guaranteed(sized: Sized) -> dict[str, tuple[str, float]]:
    """Sense and SI value of what the design guarantees of the product and a rating can judge, by column."""
    return {_GUARANTEES[row["key"]]: ("<=" if row["sense"] == "≤" else ">=", float(row["guaranteed"]))
            for row in sized.guarantees if row["key"] in _GUARANTEES}
