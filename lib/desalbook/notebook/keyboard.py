"""A widget that shows nothing: it keeps the keys pressed in a panel from being commands of the notebook."""

from __future__ import annotations

from pathlib import Path

import anywidget

__all__ = ["Keys"]


class Keys(anywidget.AnyWidget):
    """Put among the children of a box of class ``db-panel`` or ``db-desk``."""

    _esm = Path(__file__).with_name("keyboard.js").read_text(encoding="utf-8")
