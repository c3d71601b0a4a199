"""A water stated in another way: nothing is left of the analysis, or its proportions are."""

from __future__ import annotations

import pytest

from desalbook.design import from_text
from desalbook.problems import DesignError
from desalbook.study import composition
from tests import shared

AS_BICARBONATE = 1e-4  # carbonate and borate of reference seawater are counted as HCO3 and B, some 0.01 % of its salt
BLEND = '''format = 1
[duty]
train_product_flow = "1000 m3/d"
[membrane]
recovery = "40 %"
[[water.analyses]]
name = "north"
share = "60 %"
ph = 7.6
conductivity = "52 mS/cm"
[water.analyses.ions]
Na = "10 800 mg/L"
Mg = "52.8 mmol/L"
Ca = "1030 mg/L as CaCO3"
Cl = "19 400 mg/L"
SO4 = "2700 mg/L"
HCO3 = "118 mg/L as CaCO3"
[[water.analyses]]
name = "south"
share = "40 %"
ph = 7.8
ions = {Na = "9000 mg/L", Mg = "1100 mg/L", Ca = "350 mg/L", Cl = "16 200 mg/L", SO4 = "2250 mg/L", HCO3 = "140 mg/L"}
'''


@pytest.fixture(scope="module")
def design():
    return shared.plant().design


def test_a_salinity_in_place_of_an_analysis(design):
    made = composition.with_salinity(design, "42 g/kg")
    assert made.get("water.ions") is None and float(made.get("water.sea_salinity")) == pytest.approx(0.042)
    assert composition.salinity(made) == pytest.approx(0.042, rel=AS_BICARBONATE)
    assert made.get("water.ph") == design.get("water.ph") and made.stands("water.turbidity")
    assert design.stands("water.ions") and design.hash in made.ancestors
    assert composition.with_salinity(made, "38 g/kg").get("water.sea_salinity") == pytest.approx(0.038)


@pytest.mark.parametrize("goal", (0.020, 0.042, 0.055))
def test_an_analysis_scaled_keeps_its_proportions(design, goal):
    made = composition.scaled(design, f"{1000 * goal} g/kg")
    assert composition.salinity(made) == pytest.approx(goal, rel=2e-5)
    was, now = design.get("water.ions"), made.get("water.ions")
    ratio = [now[k] / was[k] for k in was]
    assert ratio == pytest.approx([ratio[0]] * len(ratio), rel=1e-5)
    assert (ratio[0] > 1.0) == (goal > composition.salinity(design))


def test_several_analyses_keep_units_and_lose_what_was_measured():
    design = from_text(BLEND)
    made = composition.scaled(design, "42 g/kg")
    assert composition.salinity(made) == pytest.approx(0.042, rel=2e-5)
    said = next(x for x in made.written["water"]["analyses"] if x["name"] == "north")
    assert said["ions"]["Mg"].endswith("mmol/L") and said["ions"]["Ca"].endswith("as CaCO3")
    assert "conductivity" not in said
    alone = composition.with_salinity(design, "42 g/kg")
    assert not alone.names("water.analyses") and composition.salinity(alone) == pytest.approx(0.042, rel=AS_BICARBONATE)


@pytest.mark.parametrize("text", ("", "42", "high", "900 g/kg"))
def test_what_is_no_salinity_is_refused_at_its_key(design, text):
    for make in (composition.scaled, composition.with_salinity):
        with pytest.raises(DesignError, match=r"water\.sea_salinity"):
            make(design, text)


def test_there_must_be_an_analysis_to_scale(design):
    with pytest.raises(DesignError, match="no analysis to scale"):
        composition.scaled(composition.with_salinity(design, "42 g/kg"), "40 g/kg")
