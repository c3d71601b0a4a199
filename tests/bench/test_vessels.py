"""How fast vessels are solved. Gates are ratios inside one run; absolute times are printed, and differ by machine.

Measured on one core, nothing else running: `python -m tests.bench.test_vessels` prints the figures.
"""

from __future__ import annotations

import time
import tracemalloc

import numpy as np
import pytest

from desalbook.membrane import solve
from tests.membrane.cases import cases_of
from tests.membrane.reference import feed_pressure, march
from tests.membrane.test_vessel import many


def best(call, times: int = 3) -> float:
    """Minimum of a few runs, s of processor: what else runs on the machine does not count."""
    took = []
    for _ in range(times):
        start = time.process_time()
        call()
        took.append(time.process_time() - start)
    return min(took)


def batch(count: int):
    """Pressure solves of ``count`` different vessels."""
    vessels, permeate = many(512, 8)
    times = -(-count // 512)
    return cases_of((vessels * times)[:count], np.tile(permeate, times)[:count] * np.linspace(0.97, 1.03, count), 6e6)


@pytest.mark.full
def test_three_hundred_times_the_reference():
    """Against differential equations solved as loosely as the slices are accurate, 1e-5: at matched accuracy."""
    vessels, permeate = many(512, 8)
    exact = np.array([feed_pressure(v, q) for v, q in zip(vessels[:4], permeate[:4], strict=True)])
    loose = []
    start = time.process_time()
    for v, q in zip(vessels[:4], permeate[:4], strict=True):
        loose.append(feed_pressure(v, q, rtol=1e-5))
    each = (time.process_time() - start) / 4
    cases = batch(4096)
    ours = best(lambda: solve(cases)) / 4096
    found = solve(cases_of(vessels[:4], permeate[:4], 6e6)).feed_pressure
    # the reference has every chance: its error is not smaller than that of the slices by more than a few times
    assert np.abs(found / exact - 1).max() < 2e-5 and np.abs(np.array(loose) / exact - 1).max() < 1e-3
    print(f"\n  {1 / ours:.0f} pressure solves a second, {each / ours:.0f} times the differential equations")
    assert each / ours >= 300


@pytest.mark.full
def test_time_of_a_case_is_flat():
    """From a thousand to sixteen thousand cases; the full tier goes on to a million."""
    _flat(1024, 16384, 1.5)


@pytest.mark.full
def test_a_million_cases_are_flat():
    _flat(1024, 1_000_000, 1.5, times=1)


@pytest.mark.full
def test_a_million_cases_are_small():
    """Of what a batch needs nothing is less than proportional: a million need no more than twenty times these."""
    cases = batch(50_000)
    tracemalloc.start()
    solve(cases, profiles=False)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak * 20 < 2 * 2**30, "a million cases under 2 GiB"


def _flat(few: int, most: int, ratio: float, times: int = 3) -> None:
    one, two = batch(few), batch(most)
    solve(one)
    short = best(lambda: solve(one, profiles=False), 5) / few
    long = best(lambda: solve(two, profiles=False), times) / most
    print(f"\n  {few}: {short * 1e6:.1f} us a case, {most}: {long * 1e6:.1f} us a case")
    assert long < ratio * short


def test_profiles_cost_no_answer():
    cases = batch(700)
    whole, bare = solve(cases), solve(cases, profiles=False)
    np.testing.assert_array_equal(whole.feed_pressure, bare.feed_pressure)
    np.testing.assert_array_equal(whole.state["water_out"][:, -1:], bare.state["water_out"])
    for name in whole.out:
        np.testing.assert_array_equal(whole.out[name], bare.out[name])


if __name__ == "__main__":
    many_cases, six = batch(8192), batch(6)
    v, q = many(1, 8)
    print(f"batch: {8192 / best(lambda: solve(many_cases), 5):.0f} pressure solves a second")
    print(f"six cases of one design: {best(lambda: solve(six), 20) * 1e3:.2f} ms")
    print(f"differential equations, one march: {best(lambda: march(v[0], 6e6)) * 1e3:.1f} ms")
