"""Cost: capital by item, operating cost of a year, and the levelised cost of water. A comparison of designs."""

from __future__ import annotations

from desalbook.cost.estimate import Estimate, Item, Running, cost

__all__ = ["Estimate", "Item", "Running", "cost"]
