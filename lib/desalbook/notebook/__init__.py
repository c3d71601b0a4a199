"""The notebook kit: controls, pictures, panels. It shows and changes; it calculates nothing."""

from __future__ import annotations

from typing import Any

__all__ = ["headlines", "panel", "start"]


def __getattr__(name: str) -> Any:
    """Widgets are loaded when a panel is asked for: the drawing needs none."""
    if name == "headlines":
        from desalbook.notebook.steps import headlines

        return headlines
    if name in __all__:
        from desalbook.notebook import board

        return getattr(board, name)
    raise AttributeError(f"module 'desalbook.notebook' has no attribute {name!r}")
