"""Post-treatment and the quality of the product."""

from desalbook.product.finish import Finish, finish
from desalbook.product.inputs import Product
from desalbook.product.limits import judge, limits_of
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

__all__ = [
    "Finish",
    "Product",
    "as_calcite",
    "calcium_as_caco3",
    "carbon_of",
    "carbonate_alkalinity",
    "concentration_of",
    "dose_amount",
    "dose_from_amount",
    "equivalents_as_caco3",
    "finish",
    "judge",
    "langelier_index",
    "limits_of",
    "sodium_adsorption_ratio",
    "solids_of",
    "water_content_of",
]
