"""A small calculation with a line of every sort, for the readers of the record."""

from __future__ import annotations

from desalbook.trail import Ledger, assumed, checked, engine, given, govern, picked, residual, scope, solved
from tests.trail import samples

NASTY = '<script>alert("x")</script> & </style>'


def calculation(flow: float = 0.03) -> Ledger:
    """Filters, a mixture, three corners, a pick, a root, two checks."""
    book = Ledger()
    with book.recording():
        q = given("duty.flow", flow, "flow", title=f"Raw water {NASTY}", symbol="Q", text="108 m3/h")
        kind = given(
            "filters.kind", "pressure", None, title="Kind of filter", options=["pressure", "gravity"]
        )
        area = assumed(
            "filters.area",
            7.0,
            "area",
            title="Area",
            symbol="A",
            text="7 m2",
            source="common-practice",
            note=NASTY,
        )
        count = given("filters.count", 8, "count", title="Filters in service", symbol="N")
        with scope("unit", count=8, because=[kind]):
            rate = samples.filtration_rate.at("filters.rate", flow=q, area=area, filters_in_service=count)
        limit = given("filters.rate_limit", 0.003, "filtration rate", title="Limit", symbol="v_max")
        checked("filters.rate.check", rate, "<=", limit, title="Filtration rate", do="add a filter")
        checked(
            "filters.rate.check_low",
            rate,
            ">=",
            limit,
            title="Scour by water alone",
            do=f"scour {NASTY}",
            caution="Isolate and drain before opening; local codes hold",
        )
        ions = given(
            "water.ions",
            [0.4, 10.8, 19.3],
            "concentration",
            title="Ions",
            symbol="c",
            axis="ion",
            keys=["Ca", "Na", "Cl"],
        )
        flows = given(
            "water.flows",
            [0.4, 0.8, 0.3],
            "flow",
            title="Flows",
            symbol="Q_i",
            axis="ion",
            keys=["Ca", "Na", "Cl"],
        )
        x = given("water.factor", 1.5, "factor", title="Factor", symbol="k")
        samples.mixed.at("water.mixed", flow=flows, concentration=ions)
        scaled = samples.scaled.at("water.scaled", concentration=ions, x=x)
        samples.medley.at("water.medley", x=x, z=x)
        samples.friction.at("water.friction", x=x)
        density = engine(
            "water.density",
            1025.0,
            "density",
            title="Density",
            symbol="rho",
            inputs={"ions": ions},
            library="phreeqc",
            version="0",
            data="pitzer.dat",
            checksum="0" * 64,
            source="common-practice",
        )
        head = given("pipe.head", 10.0, "head", title="Static head", symbol="h")
        root = solved(
            "pipe.speed",
            14.0,
            "velocity",
            title="Speed",
            symbol="v",
            inputs={"head": head},
            method="bisection",
        )
        zero = given("pipe.zero", 0.0, "velocity", title="Residual")
        residual(root, zero, 14.0)
        by = {}
        for corner, factor in (("cold-aged", 10.0), ("design-new", 9.0), ("hot-new", 8.0)):
            with scope("train", corner=corner, count=2):
                h = given("pipe.lift", factor, "head", title="Lift", symbol="h_l")
                by[corner] = samples.static_pressure.at("pipe.drop", density=density, head=h)
        govern("pipe.drop", by, "largest", title="Static drop")
        picked(
            "filters.vessel",
            "V24",
            None,
            title="Vessel",
            rule="minimum that holds",
            candidates=[
                {"key": "V20", "value": 6.0, "won": False},
                {"key": "V24", "value": 7.2, "won": True},
            ],
            inputs={"area": area, "sodium": scaled["Na"]},
            why="V20 is too small",
            table="vessels",
        )
    return book
