"""desalbook: packaged seawater reverse-osmosis plants, sized, explained and checked.

``read`` a design file, ``size`` it, ask the plant for figures by id; ``write`` and ``hold`` designs. ``calc`` holds
stand-alone calculations: a filter battery, a pump, a dose.
"""

from __future__ import annotations

from typing import Any

__all__ = ["__version__", "add_sheets", "blank_sheet", "calc", "hold", "rate", "read", "size", "sweep", "write"]

_FACE = ("add_sheets", "blank_sheet", "hold", "rate", "read", "size", "sweep", "write")


def __getattr__(name: str) -> Any:
    """Load what is asked for, when it is asked for: the import itself stays short."""
    if name == "__version__":
        from importlib import metadata

        try:
            return metadata.version("desalbook")
        except metadata.PackageNotFoundError:
            return "unknown"
    if name == "calc":
        import importlib

        return importlib.import_module("desalbook.calc")
    if name in _FACE:
        from desalbook import api

        if hasattr(api, name):
            return getattr(api, name)
    raise AttributeError(f"module 'desalbook' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
