"""Values first, record on demand: the same plant to the last bit, and why one sizes without a record."""

from __future__ import annotations

import pytest

from desalbook.plant import size
from desalbook.problems import Infeasible
from tests.every import every
from tests.random_designs import feasible
from tests.trail.test_values import differences

DRAWS = 50


def _same(seed: int) -> bool:
    """Whether seed's design was sized; refusals must be the same in both contexts."""
    design = feasible(seed)
    try:
        recorded = size(design)
    except Infeasible as refused:
        with pytest.raises(Infeasible) as other:
            size(design, recording=False)
        assert str(other.value) == str(refused)
        return False
    assert differences(recorded, size(design, recording=False)) == []
    return True


@pytest.mark.full
def test_random_designs_have_the_same_values_without_a_record():
    sized = []
    every(range(DRAWS), lambda seed: sized.append(_same(seed)))
    assert sum(sized) >= 0.8 * DRAWS


def test_some_random_designs_have_the_same_values_without_a_record():
    every(range(1000, 1004), _same)
