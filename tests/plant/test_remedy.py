"""Where no number of vessels meets every limit: the finding names what binds, and what it says to do works."""

from __future__ import annotations

import re

import pytest

import desalbook as db
from desalbook.cli import main
from tests.plant.test_stages import STAGES, TEXT, text_of
from tests.shared import demo

SECOND = '[membrane.second_pass]\nph = 9.5\nshare = "60 %"\nrecovery = "94 %"\n'


def sized(tmp_path, text: str):
    path = tmp_path / "plant.toml"
    path.write_text(text, encoding="utf-8")
    return db.size(db.read(path))


def limits_failing(plant) -> set[str]:
    """Checks of the array that fail, the rating of the vessels apart: it is a class to choose."""
    checks = plant.checks
    failing = set(checks[checks["verdict"] == "fails"]["id"])
    return {i for i in failing if i.startswith(("membrane.", "second_pass."))} - {"membrane.rating_used.check"}


@pytest.mark.parametrize(("keys", "recovery", "more"), [
    ("", 49, ""), ("", 50, ""), ('flow_spread = "30 %"', 39, ""), ("", 56, STAGES)])
def test_the_recovery_it_names_is_carried_and_the_next_is_not(tmp_path, keys, recovery, more):
    def text(percent: int) -> str:
        return text_of(more, recovery=f"{percent} %").replace("[membrane]\n", f"[membrane]\n{keys}\n")

    plant = sized(tmp_path, text(recovery))
    assert "membrane.vessels.binding" in limits_failing(plant)
    do = plant.ledger.lines["membrane.vessels.binding"].more["do"]
    said = re.match(r"lower membrane.recovery to (\d+) %, which (\d+) vessels carry", do)
    assert said, do
    after = sized(tmp_path, text(int(said[1])))
    assert not limits_failing(after) and float(after["membrane.vessels"]) == float(said[2])
    if int(said[1]) + 1 < recovery:  # no higher whole per cent does
        assert "membrane.vessels.binding" in limits_failing(sized(tmp_path, text(int(said[1]) + 1)))


def test_where_a_lower_recovery_does_not_help_it_says_so(tmp_path):
    """With 1.001 of polarisation allowed nothing goes; another row of the guidelines is not asked for."""
    from desalbook.plant import size
    from desalbook.trail import what_if

    plant = sized(tmp_path, TEXT)
    with what_if({"limits.recovery_polarisation": 1.001 / 1.2}):
        lines = size(plant.design).ledger.lines
    do = lines["membrane.vessels.binding"].more["do"]
    assert do.startswith("choose another element") and "does not help" in do


def test_the_second_pass_says_what_helps_it(tmp_path):
    plant = sized(tmp_path, text_of(SECOND, vessels=32, recovery="36 %"))
    line = plant.ledger.lines["membrane.second_pass.vessels.binding"]
    assert line.more["verdict"] == "fails" and "membrane.second_pass.recovery" in line.more["do"]
    less = sized(tmp_path, text_of(SECOND.replace("94 %", "85 %"), vessels=32, recovery="36 %"))
    assert not limits_failing(less)


def test_the_command_line_says_it_first_and_plainly(tmp_path, capsys):
    path = tmp_path / "plant.toml"
    path.write_text(text_of(recovery="49 %"), encoding="utf-8")
    code = main(["check", str(path)])
    out = " ".join(capsys.readouterr().out.split())
    assert code != 0
    assert "x RO hydraulics and flux: " in out and "x Feasible number of vessels: fails" in out
    assert "no number of vessels meets every limit: with 32" in out
    assert '> Lower "RO recovery" (membrane.recovery) to' in out


def test_advice_on_the_second_pass_speaks_of_its_own_keys(tmp_path):
    plant = sized(tmp_path, demo().text.replace("[energy_recovery]", f"{SECOND}\n[energy_recovery]"))
    spoken = {id: x.more["do"] for id, x in plant.verdicts.items() if id.startswith("second_pass.")
              and "membrane." in x.more["do"]}
    assert "second_pass.vessel_concentrate.check" in spoken
    for id, do in spoken.items():
        assert "membrane.recovery" not in do and "membrane.vessels" not in do, (id, do)
