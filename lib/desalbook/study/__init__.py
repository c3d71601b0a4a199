"""Studies: one or two keys of a design varied, the plant sized anew at each value. Nothing is calculated here."""

from desalbook.study.sweep import Row, Sweep, grid, numeric_keys, spread

__all__ = ["Row", "Sweep", "grid", "numeric_keys", "spread"]
