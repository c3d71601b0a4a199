"""What a design file says of the offer: section ``[offer]``."""

from __future__ import annotations

from desalbook.tables import table
from desalbook.units import S, Section, choice, field, text_field

__all__ = ["SECTIONS", "Offer"]

_TERMS = {"fca": "FCA, free carrier at the works", "cip": "CIP, carriage and insurance paid",
          "dap": "DAP, delivered at place, not unloaded", "dpu": "DPU, delivered and unloaded",
          "exw": "EXW, ex works"}
_CODES = {"asme": "ASME BPVC section VIII division 1", "en": "EN 13445"}


def _time(kind: str, default: str, title: str, symbol: str, possible: tuple[str, str], usual: tuple[str, str],
          hint: str):
    return field(kind, default, title=title, symbol=symbol, possible=possible, usual=usual, hint=hint,
                 source="common-practice")


class Offer(Section):
    """Section ``[offer]``: codes and grades of the tests, and the terms an offer states."""

    date: str = text_field("", title="Date of issue", max_length=40, hint="Printed on every document of the pack")
    vessel_code: str = choice(_CODES, "asme", title="Code of metal pressure vessels",
                              hint="Decides their test pressure; the site's law governs")
    pump_grade: str = choice(table("pump_grades").options(), "2b", title="Acceptance grade of centrifugal pumps",
                             hint="Tolerances of flow and head in the works test")
    coating: str = choice(table("coatings").options(), "c5-high", title="Coating of carbon steel",
                          hint="Corrosivity of the place and durability of the coat")
    spares_time: S = _time("time.year", "2 year", "Spares and consumables for", "t_sp", ("0.25 year", "10 year"),
                           ("1 year", "3 year"), "Time the list of spares covers")
    test_run: S = _time("time", "72 h", "Performance test run", "t_pt", ("1 h", "2000 h"), ("24 h", "168 h"),
                        "Run at site in which the guaranteed values are shown")
    validity: S = _time("time.day", "60 d", "Validity of the offer", "t_v", ("1 d", "1000 d"), ("30 d", "90 d"),
                        "From its date")
    delivery_time: S = _time("time.day", "168 d", "Delivery time", "t_dl", ("7 d", "2000 d"), ("98 d", "252 d"),
                             "From the order with all data to the works' gate")
    warranty_operation: S = _time("time.year", "1 year", "Warranty from commissioning", "t_w1",
                                  ("0.25 year", "10 year"), ("1 year", "2 year"), "Whichever of the two ends first")
    warranty_delivery: S = _time("time.year", "1.5 year", "Warranty from delivery", "t_w2",
                                 ("0.25 year", "10 year"), ("1.5 year", "2.5 year"),
                                 "Whichever of the two ends first")
    delivery_terms: str = choice(_TERMS, "fca", title="Delivery terms", hint="Incoterms 2020; the place is agreed")


SECTIONS = {"offer": Offer}
