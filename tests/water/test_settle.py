"""A number that answers itself."""

import math

import pytest

from desalbook.water.settle import settled


@pytest.mark.parametrize("slope", [-0.5, -0.03, 0.0, 0.03, 0.5])
def test_straight_lines_settle_in_two_or_three_calls(slope):
    asked = []
    found = settled(lambda x: asked.append(x) or 1000.0 + slope * (x - 1000.0), 1001.0)
    assert found == pytest.approx(1000.0, rel=1e-9)
    assert len(asked) <= (2 if abs(slope) < 0.1 else 3)


def test_a_curve_settles_and_the_end_is_not_taken_for_it():
    """The number whose cosine it is: 0.739085 (mathematics)."""
    asked = []
    found = settled(lambda x: asked.append(x) or math.cos(x), 0.6)
    assert found == pytest.approx(0.7390851332151607, rel=1e-7) and len(asked) < 8
    assert settled(math.cos, 0.6, most=1) == pytest.approx(math.cos(0.6))
