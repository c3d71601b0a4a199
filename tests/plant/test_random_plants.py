"""Random plants: no defect of ours reaches a person, and what an engineer would ask for is sized and mostly passes."""

from __future__ import annotations

import pytest

from desalbook.design import Design
from tests.random_designs import feasible, tally, wild


def sound(make, seeds: range) -> None:
    found = tally(make, seeds)
    assert not found.defects, found.defects
    if make is feasible:
        # what fails is a finding, not an error; more than two in five plants have none
        assert found.sized >= 0.99 * len(seeds) and found.passed >= 0.4 * len(seeds), found
    else:
        assert found.sized >= 0.5 * len(seeds), found
        assert found.passed >= 0.1 * len(seeds), found


@pytest.mark.parametrize("make", [feasible, wild])
def test_no_defect_reaches_a_person(make):
    sound(make, range(15))


def pytest_generate_tests(metafunc):
    """Hundreds of draws as tests of their own, as many as ``--draws`` asks for."""
    if "first" in metafunc.fixturenames:
        draws = metafunc.config.getoption("draws")
        metafunc.parametrize("first", range(100, 100 + (draws if draws > 200 else 100), 100))


@pytest.mark.full
@pytest.mark.parametrize("make", [feasible, wild])
def test_no_defect_reaches_a_person_over_hundreds(make, first):
    """Some hundreds of each; two thousand by ``--all --draws 2000``."""
    sound(make, range(first, first + 100))


def test_a_defect_would_be_seen():
    def broken(seed: int) -> Design:
        if seed == 3:
            raise ZeroDivisionError("none")
        return feasible(seed)

    found = tally(broken, range(2, 4))
    assert found.defects == {3: "ZeroDivisionError('none')"} and found.sized == 1
