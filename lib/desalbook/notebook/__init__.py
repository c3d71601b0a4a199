"""The notebook kit: controls, pictures, panels. It shows and changes; it calculates nothing."""

from __future__ import annotations

from typing import Any

__all__ = ["start"]


def __getattr__(name: str) -> Any:
    """Widgets are loaded when a panel is asked for: the drawing needs none."""
    if name == "start":
        from desalbook.notebook.panel import start

        return start
    raise AttributeError(f"module 'desalbook.notebook' has no attribute {name!r}")
