"""The notebook kit: controls, pictures, panels. It shows and changes; it calculates nothing."""

from __future__ import annotations

from typing import Any

__all__ = ["audit_desk", "headlines", "pack_desk", "panel", "start"]


def __getattr__(name: str) -> Any:
    """Widgets are loaded when a panel is asked for: the drawing needs none."""
    if name == "headlines":
        from desalbook.notebook.steps import headlines

        return headlines
    if name == "audit_desk":
        from desalbook.notebook.audit_board import audit_desk

        return audit_desk
    if name == "pack_desk":
        from desalbook.notebook.pack_board import pack_desk

        return pack_desk
    if name in __all__:
        from desalbook.notebook import board

        return getattr(board, name)
    raise AttributeError(f"module 'desalbook.notebook' has no attribute {name!r}")
