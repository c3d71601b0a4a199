"""Three tiers: quick by default, `full` and `outside` with `--all`, where a missing program is an error."""

from __future__ import annotations

import gc
import shutil

import pytest

from tests import random_designs

MARKERS = {
    "quick": "only Python; the default (a test without a marker is quick)",
    "full": "long random runs; only with --all or -m full",
    "outside": "needs a program outside Python; only with --all or -m outside",
}


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--all", action="store_true", dest="run_all", help="run every tier; a missing program is an error"
    )
    parser.addoption(
        "--draws", type=int, default=200, help="random designs of each class that the long tier sizes (2000: all)"
    )


def pytest_configure(config: pytest.Config) -> None:
    random_designs.DRAWS = config.getoption("draws")
    for name, says in MARKERS.items():
        config.addinivalue_line("markers", f"{name}: {says}")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    slow = [i for i in items if any(i.get_closest_marker(m) for m in ("full", "outside"))]
    for item in items:
        if item not in slow:
            item.add_marker(pytest.mark.quick)
    if config.getoption("run_all") or config.option.markexpr:
        return
    if slow:
        config.hook.pytest_deselected(items=slow)
        items[:] = [i for i in items if i not in slow]


def pytest_collection_finish() -> None:
    """Thousands of tests and the plants they share live until the end: the collector need not look at them anew.

    Nor at a plant in the making: its hundred thousand objects hold no rings, and go as they came.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(300_000, 10, 10)


@pytest.fixture(scope="session", autouse=True)
def shared_plants_stay_whole():
    """A test that writes into a plant that others read is found out at the end."""
    yield
    from tests import shared

    assert not shared.altered()


@pytest.fixture(scope="session")
def program(request: pytest.FixtureRequest):
    """A function that finds a program outside Python, by any of its names."""

    def find(*names: str) -> str:
        for name in names:
            path = shutil.which(name)
            if path:
                return path
        if request.config.getoption("run_all"):
            pytest.fail(f"the program {names[0]} is missing, and --all wants everything")
        pytest.skip(f"the program {names[0]} is missing")

    return find
