"""Names of files that a person types: plain names that every system can hold and nobody mistakes for another."""

from __future__ import annotations

import unicodedata
from pathlib import Path

from desalbook.problems import DesignError

__all__ = ["LONGEST", "checked_name"]

LONGEST = 80
"""Characters of a name; what is written beside it adds endings of its own."""
_RESERVED = {"con", "prn", "aux", "nul", *(f"{kind}{n}" for kind in ("com", "lpt") for n in range(1, 10))}
"""Names that Windows keeps for devices, whatever their ending."""
_SIGNS = '<>:"|?*'


def checked_name(name: str, folder: Path) -> str:
    """A typed name of a file in a folder, as it is, or a refusal in one line.

    Parameters
    ----------
    name : str
    folder : Path
        Where it is to be written; a name that would leave it is told where it leads.

    Raises
    ------
    DesignError
    """
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in name)

    def refuse(what: str, do: str) -> DesignError:
        return DesignError(what, where="file name", value=shown, do=do)

    plain = 'enter a plain name, such as "three-trains"'
    if not name.strip():
        raise refuse("no name", plain)
    if any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") for c in name):
        raise refuse("holds a control or direction mark that nobody sees", plain)
    if "/" in name or "\\" in name:
        goal = (folder / name.replace("\\", "/")).resolve()
        inside = goal.is_relative_to(folder.resolve())
        raise refuse("holds a path" if inside else f"leads out of this folder, to {goal.parent}",
                     f"enter a plain name: the file is saved in {folder.resolve()}")
    if any(c in _SIGNS for c in name):
        raise refuse(f"holds a sign that not every system takes in a name ({_SIGNS})", plain)
    if name.startswith(".") or name != name.strip() or name.endswith("."):
        raise refuse("begins with a point or ends with one or with a space", plain)
    if name.partition(".")[0].casefold().strip() in _RESERVED:
        raise refuse("is a name that Windows keeps for a device", plain)
    if len(name) > LONGEST:
        raise refuse(f"too long, {len(name)} characters", f"enter up to {LONGEST} characters")
    return name
