"""Post-treatment and the quality of the product."""

from desalbook.product.contactor import ContactorDesign, contactor
from desalbook.product.finish import Finish, finish
from desalbook.product.inputs import Product
from desalbook.product.limits import judge, limit_line, limits_of
from desalbook.product.plant_inputs import Contactor, ProductTank, Specification
from desalbook.product.relations import (
    as_calcite,
    calcium_as_caco3,
    carbon_of,
    carbonate_alkalinity,
    concentration_of,
    dose_amount,
    dose_from_amount,
    equivalents_as_caco3,
    langelier_index,
    sodium_adsorption_ratio,
    solids_of,
    water_content_of,
)
from desalbook.product.route import Blend
from desalbook.product.store import boron_of_blend, byproducts, contact, tank

__all__ = [
    "Blend",
    "Contactor",
    "ContactorDesign",
    "Finish",
    "Product",
    "ProductTank",
    "Specification",
    "as_calcite",
    "boron_of_blend",
    "byproducts",
    "calcium_as_caco3",
    "carbon_of",
    "carbonate_alkalinity",
    "concentration_of",
    "contact",
    "contactor",
    "dose_amount",
    "dose_from_amount",
    "equivalents_as_caco3",
    "finish",
    "judge",
    "langelier_index",
    "limit_line",
    "limits_of",
    "sodium_adsorption_ratio",
    "solids_of",
    "tank",
    "water_content_of",
]
