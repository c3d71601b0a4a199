"""Seven plants as an engineer would file them: the two demos and five more, all invented.

Each stands here as a design file of its own; `NAMES` lists all seven, `path` gives the file of one. Other tests may
read, size, print and price them.
"""

from __future__ import annotations

from pathlib import Path

from desalbook import paths

__all__ = ["DEMOS", "NAMES", "path"]

DEMOS = ("harbour-town", "beach-well")
NAMES = (*DEMOS, "hotel-well", "gulf", "boron", "container", "industrial-us")


def path(name: str) -> Path:
    """Design file of one of the seven plants."""
    return Path(paths.demo(f"{name}.toml")) if name in DEMOS else Path(__file__).parent / f"{name}.toml"
