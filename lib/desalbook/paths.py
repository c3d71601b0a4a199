"""Where the notebooks and the demo designs are: beside the library in a checkout, inside it in a wheel."""

from __future__ import annotations

import os
from pathlib import Path

from desalbook.problems import DesignError

__all__ = ["DESIGN", "carried", "chosen", "demo", "hidden", "repository", "shelf"]

DESIGN = "DESALBOOK_DESIGN"
"""Environment variable by which ``desalbook lab FILE`` tells the notebooks which design to open."""

_PACKAGE = Path(__file__).resolve().parent


def repository() -> Path | None:
    """Root of the checkout this library runs from; None when it was installed from a wheel."""
    root = _PACKAGE.parents[1]
    return root if (root / "pyproject.toml").is_file() and (root / "notebooks").is_dir() else None


def carried() -> Path:
    """Folder inside the installed package that holds notebooks and demo designs."""
    return _PACKAGE / "_carried"


def shelf() -> Path:
    """The folder with ``notebooks`` and ``data-demo`` in it."""
    return repository() or carried()


def demo(name: str) -> Path:
    """Path of a demo design.

    Raises
    ------
    DesignError
        When there is none of that name; the message names those there are.
    """
    folder = shelf() / "data-demo"
    path = folder / name
    if not path.is_file() or path.parent != folder:
        there = ", ".join(sorted(p.name for p in folder.glob("*.toml"))) or "none"
        raise DesignError("no such demo design", where="demo", value=name, allowed=there,
                          do="use one of these names")
    return path


def chosen(name: str) -> Path:
    """The design named on the command line of ``desalbook lab``, else the demo of that name."""
    told = os.environ.get(DESIGN, "")
    return Path(told) if told else demo(name)


def hidden(folder: str | Path) -> Path:
    """The hidden folder for what the kit keeps for itself beside files of a person; it need not be there yet."""
    return Path(folder) / ".desalbook"
