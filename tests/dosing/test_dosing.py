"""Dosing lines, steps that may be absent, and what does not go together."""

from __future__ import annotations

import pytest

from desalbook import dosing
from desalbook.problems import DesignError
from desalbook.trail import Ledger, given
from desalbook.units import validate
from desalbook.water.inputs import RawWater
from tests.rooms import inputs

SECTIONS = {
    "dosing": dosing.Dosing,
    "chlorination": dosing.Chlorination,
    "dechlorination": dosing.Dechlorination,
    "antiscalant": dosing.Antiscalant,
    "acid": dosing.Acid,
    "coagulation": dosing.Coagulation,
    "post_ph": dosing.PostPh,
    "post_chlorination": dosing.PostChlorination,
    "injection": dosing.Injection,
    "biocide": dosing.Biocide,
    "interpass_ph": dosing.InterpassPh,
    "corrosion_inhibitor": dosing.CorrosionInhibitor,
    "chemical_storage": dosing.ChemicalStorage,
}
WATER = {"ions": {"Na": "11 g/L", "Cl": "20 g/L", "HCO3": "145 mg/L"}, "ph": "8.1"}
LH = 1e-3 / 3600


def made(job, **written):
    """Run a job in a ledger: job(inp, flow, lowest_flow)."""
    with (book := Ledger()).recording():
        sections = {k: (c, written.get(k, {})) for k, c in SECTIONS.items()}
        inp = inputs(sections | {"water": (RawWater, WATER | written.get("water", {}))})
        flow = given("streams.raw", 200 / 3600, "flow", title="Raw water")
        low = given("streams.raw_one", 100 / 3600, "flow", title="Raw water, one train")
        result = job(inp, flow, low)
    return book, result


def test_hypochlorite_at_aged_strength_and_shock():
    """1.5 mg/L into 200 m3/h from 125 g/L: 2.4 L/h, at 80 % strength 3.0; shock 8 mg/L gives 16."""
    book, c = made(dosing.chlorination)
    assert float(c.line.feed_rate) / LH == pytest.approx(3.0, rel=1e-3)
    assert float(c.line.feed_rate_maximum) / LH == pytest.approx(16.0, rel=1e-3)
    assert float(c.line.feed_rate_minimum) / LH == pytest.approx(1.5, rel=1e-3)
    assert float(c.line.day_tank) * 1e3 == pytest.approx(72.0, rel=1e-3)
    assert float(c.line.storage) * 1e3 == pytest.approx(2160 * 1.5903 / 1.5, rel=1e-3)  # shocks in it
    assert float(c.residual_highest) * 1e3 == pytest.approx(7.0)
    assert book.lines["chlorination.span.check"].more["verdict"] == "passes"


def test_span_beyond_the_pump_fails():
    book, _ = made(dosing.chlorination, dosing={"span": "10"})
    assert book.lines["chlorination.span.check"].more["verdict"] == "fails"


def test_bisulfite_follows_the_residual_not_the_dose():
    def job(inp, flow, low):
        return dosing.dechlorination(inp, flow, dosing.chlorination(inp, flow, low), low)

    book, d = made(job, chlorination={"residual": "1 mg/L as Cl2", "demand": "3 mg/L as Cl2"})
    assert float(d.line.dose) * 1e3 == pytest.approx(2.935, rel=1e-3)
    assert float(d.line.mass_rate) * 3600 == pytest.approx(0.587, rel=1e-3)
    assert float(d.alkalinity) * 1e3 == pytest.approx(1.412, rel=1e-3)
    assert book.lines["dechlorination.dose_maximum"].value * 1e3 == pytest.approx(2.935 * 5, rel=1e-3)
    # oxygen is reported, and no part of the dose
    assert "water.oxygen" not in book.lines["dechlorination.dose"].parents()
    assert book.lines["dechlorination.dose_for_oxygen"].value * 1e3 == pytest.approx(45.5, rel=1e-2)
    _, m = made(job, dechlorination={"chemical": "sodium-metabisulfite"})
    assert float(m.line.dose) * 1e3 == pytest.approx(1.3406, rel=1e-3)


def test_absent_steps_leave_a_reason_and_no_numbers():
    def job(inp, flow, low):
        return dosing.antiscalant(inp, flow, low)

    book, none = made(job, antiscalant={"present": "no", "reason": "recovery below 40 %, low alkalinity"})
    assert none is None and book.lines["antiscalant.absent"].more["verdict"] == "passes"
    assert "antiscalant.feed_rate" not in book
    assert (
        made(job, antiscalant={"present": "no"})[0].lines["antiscalant.absent"].more["verdict"] == "review"
    )


def test_antiscalant_as_product():
    _, line = made(lambda i, q, low: dosing.antiscalant(i, q, low), antiscalant={"dose": "3 mg/L as product"})
    assert float(line.feed_rate) / LH == pytest.approx(0.545, abs=0.001)


def test_ferric_counts_as_iron():
    """3.443 mg/L as Fe is 10 mg/L of FeCl3: 3.52 L/h of 40 %, 9.26 mg/L alkalinity, 6.59 mg/L solids."""
    _, c = made(
        dosing.coagulation,
        coagulation={
            "present": "yes",
            "dose": "3.443 mg/L",
            "dose_maximum": "10 mg/L",
            "density": "1420 kg/m3",
        },
    )
    assert float(c.line.feed_rate) / LH == pytest.approx(3.521, rel=1e-3)
    assert float(c.alkalinity) * 1e3 == pytest.approx(9.256, rel=1e-3)
    assert float(c.solids) * 1e3 == pytest.approx(6.589, rel=1e-3)


def test_acid_is_fed_by_amount_and_molar_mass():
    def fed(inp, flow, low):
        density = given("feed.density", 1023.0, "density", title="Density")
        tds = given("feed.tds", 36.0, "concentration", title="Solids")
        amount = given("feed.amount", 3.0e-4, "molality", title="Acid per water")
        return dosing.acid(inp, flow, amount, density=density, total_dissolved_solids=tds, lowest_flow=low)

    _, a = made(fed, acid={"present": "yes", "target_ph": "7.63"})
    assert float(a.line.dose) == pytest.approx(3.0e-4 * 0.098072 * 987, rel=1e-4)



def test_product_use_decides_on_chlorine_unless_the_file_does():
    def job(use):
        return lambda inp, flow, low: dosing.post_chlorine_dose(
            inp, given("duty.product_use", use, None, title="Use")
        )

    book, c = made(job("drinking"))
    assert c.present == "yes" and book.lines["post_chlorination.present"].sort == "picked"
    assert float(c.dose) * 1e3 == pytest.approx(0.5)
    assert made(job("boiler"))[1].dose is None
    book, c = made(job("boiler"), post_chlorination={"present": "yes"})
    assert c.dose is not None and book.lines["post_chlorination.use"].more["verdict"] == "review"


def _findings(filters=True, membrane=True):
    def job(inp, flow, low):
        f = given("filters.kind", "pressure", None, title="Filters") if filters else None
        m = given("membrane.element", "x", None, title="Element") if membrane else None
        dosing.contradictions(inp, filters=f, oxidant_sensitive=m)

    return job


@pytest.mark.parametrize(
    ("id", "bad", "job", "verdict"),
    [
        ("dechlorination.needed", {"dechlorination": {"present": "no"}}, _findings(), "fails"),
        ("dechlorination.purpose", {"chlorination": {"present": "no"}}, _findings(), "review"),
        ("coagulation.filter", {"coagulation": {"present": "yes"}}, _findings(filters=False), "fails"),
        ("chlorination.source", {"water": {"source": "beach-well"}}, _findings(), "review"),
    ],
)
def test_contradictions(id, bad, job, verdict):
    assert made(job, **bad)[0].lines[id].more["verdict"] == verdict
    assert made(_findings())[0].lines[id].more["verdict"] == "passes"


def _order(*names, filters=True, points=None):
    def job(inp, flow, low):
        f = given("filters.kind", "pressure", None, title="Filters") if filters else None
        dosing.order(inp, names or points, filters=f)

    return job


USUAL = (
    "chlorination",
    "coagulation",
    "filter",
    "acid",
    "antiscalant",
    "dechlorination",
    "orp",
    "cartridge",
    "pump",
)


def verdicts(job, **written):
    book, _ = made(job, **written)
    return {
        i: ln.more["verdict"]
        for i, ln in book.lines.items()
        if i.startswith("injection.") and "verdict" in ln.more
    }


def test_usual_order_holds():
    assert set(verdicts(_order(*USUAL)).values()) == {"passes"}


def test_probe_before_the_quill_fails():
    wrong = [n for n in USUAL if n != "orp"]
    wrong.insert(wrong.index("dechlorination"), "orp")
    assert verdicts(_order(*wrong))["injection.order[dechlorination-orp]"] == "fails"


def test_a_chemical_without_a_place_fails():
    assert verdicts(_order(*[n for n in USUAL if n != "antiscalant"]))["injection.complete"] == "fails"


def test_short_mixing_and_one_quill_fail():
    near = [
        {"name": n, "travel_time": "2 s" if n in ("acid", "dechlorination") else "1 s"}
        for n in USUAL
        if n != "antiscalant"
    ]
    got = verdicts(
        _order(points=[p["name"] for p in near]),
        injection={"points": near},
        acid={"present": "yes"},
        antiscalant={"present": "no"},
    )
    assert got["injection.probe.check"] == "fails" and got["injection.acid_apart.check"] == "fails"


def test_highest_ferric_below_the_usual_is_refused():
    with pytest.raises(DesignError, match="dose_maximum"):
        validate(dosing.Coagulation, {"dose": "6 mg/L", "dose_maximum": "5 mg/L"}, "coagulation")


@pytest.mark.parametrize(("key", "do"), [
    ("strength", "Enter dechlorination.density, by the certificate"),
    ("fed_strength", "Lower dechlorination.fed_strength, or clear it")])
def test_a_strength_beyond_the_table_is_refused_with_the_key_that_helps(key, do):
    """A density was asked for where a solution is diluted, and stating one changed nothing."""
    with pytest.raises(DesignError, match=do):
        made(lambda inp, flow, low: dosing.dechlorination(inp, flow, dosing.chlorination(inp, flow, low), low),
             dechlorination={key: "60 % w/w"})
