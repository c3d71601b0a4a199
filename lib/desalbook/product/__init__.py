"""Post-treatment and the quality of the product."""

from desalbook.product.blending import Blend
from desalbook.product.contactor import ContactorDesign, contactor
from desalbook.product.finish import Finish, finish
from desalbook.product.inputs import Contactor, Outfall, Product, ProductTank, Specification
from desalbook.product.limits import Limits, judge, limits_of
from desalbook.product.product_tank import byproducts, contact, tank
from desalbook.product.routes import boron_of_blend, has_contactor

__all__ = [
    "Blend",
    "Contactor",
    "ContactorDesign",
    "Finish",
    "Limits",
    "Outfall",
    "Product",
    "ProductTank",
    "Specification",
    "boron_of_blend",
    "byproducts",
    "contact",
    "contactor",
    "finish",
    "has_contactor",
    "judge",
    "limits_of",
    "tank",
]
