"""Where the notebooks and the demo designs are: beside the library in a checkout, inside it in a wheel."""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import Any

from desalbook.problems import DesignError

__all__ = ["DESIGN", "beside", "carried", "chosen", "demo", "hidden", "remember", "remembered", "repository", "shelf"]

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
    """The design a notebook opens: that of the last notebook here, else that of ``desalbook lab FILE``, else a demo.

    A design that is named anew on the command line comes before the last one; one that is gone is passed over.
    """
    told, last = os.environ.get(DESIGN, ""), remembered()
    path = Path(str(last.get("file") or ""))
    if path.name and last.get("told", "") == told and path.is_file():
        return path
    return Path(told) if told else demo(name)


def hidden(folder: str | Path) -> Path:
    """The hidden folder for what the kit keeps for itself beside files of a person; it need not be there yet."""
    return Path(folder) / ".desalbook"


def beside(path: str | Path, ending: str) -> Path:
    """A file the kit keeps beside a design: in the hidden folder, or where an earlier version of the kit put it."""
    path = Path(path)
    before = path.with_name(f"{path.name}.{ending}")
    return before if before.exists() else hidden(path.parent) / before.name


def remembered() -> dict[str, Any]:
    """What the notebooks in this folder were left at: the file, units, open groups; nothing where nobody worked."""
    try:
        found = json.loads((hidden(Path.cwd()) / "desk.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def remember(**what: Any) -> None:
    """Keep what the notebooks in this folder are at; where that cannot be written, the next start begins afresh.

    Parameters
    ----------
    **what
        Such as ``file``, ``units``; what else is remembered stays.
    """
    path = hidden(Path.cwd()) / "desk.json"
    text = json.dumps(remembered() | what | {"told": os.environ.get(DESIGN, "")}, indent=1, ensure_ascii=False)
    part = path.with_name(f".desk.{os.getpid()}.part")
    with contextlib.suppress(OSError):
        path.parent.mkdir(exist_ok=True)
        part.write_text(text, encoding="utf-8")
        os.replace(part, path)
