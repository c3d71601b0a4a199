"""A drawing as a person takes it: seen in a notebook, or as a file of its own."""

from __future__ import annotations

import os
import re
from html import unescape
from pathlib import Path

from desalbook import theme
from desalbook.problems import DesignError

__all__ = ["Drawing"]

_PAINT = "font-family:sans-serif;font-size:12px;color:var(--db-text);fill:currentColor"


class Drawing:
    """A drawing of a plant.

    Parameters
    ----------
    html : str
        The drawing as a panel shows it: style sheets and one SVG with a text alternative.
    name : str
        Title of the drawing.
    """

    def __init__(self, html: str, name: str):
        self.html, self.name = html, name

    def __repr__(self) -> str:
        return f"<drawing: {self.name}; .svg() and .save(path) hand it over>"

    def _repr_html_(self) -> str:
        return self.html

    @property
    def alternative(self) -> str:
        """What it shows, for those who do not see it."""
        said = re.search(r"<desc[^>]*>(.*?)</desc>", self.html, re.DOTALL)
        return unescape(said[1]) if said else self.name

    def svg(self, ground: str = "light") -> str:
        """The drawing as an SVG file that stands alone, on its ground.

        Parameters
        ----------
        ground : {"light", "dark"}

        Raises
        ------
        DesignError
            No such ground.
        """
        if ground not in theme.GROUNDS:
            raise DesignError("no such ground", where=f"{self.name}.svg", value=ground, do="use light or dark")
        rules = "".join(re.findall(r"<style>(.*?)</style>", self.html, re.DOTALL)).replace(theme.css(), "")
        around = re.search(r'<div class="([^"]+)"', self.html)
        picture = re.search(r"<svg.*</svg>", self.html, re.DOTALL)
        assert picture is not None  # every drawing is one
        wide, high = re.findall(r'viewBox="\S+ \S+ (\S+) (\S+)"', picture[0])[0]
        rules = re.sub(r"\.([\w-]+) svg\{", r"svg.\1{", rules).replace("font-family:inherit;", "").replace(
            "width:100%;height:auto;", "")
        text = re.sub(r"<svg([^>]*)>", lambda m: f"<svg{_without(m[1])} "
                      f'class="{around[1] if around else ""}" width="{wide}" height="{high}" style="{_PAINT}">'
                      f"{f'<style>{rules}</style>' if rules else ''}", picture[0], count=1)
        return theme.standalone(text, ground)

    def save(self, path: str | Path, ground: str = "light") -> Path:
        """Write it as an SVG file.

        Parameters
        ----------
        path : str or Path
        ground : {"light", "dark"}
        """
        text, goal = self.svg(ground), Path(path)
        goal.parent.mkdir(parents=True, exist_ok=True)
        half = goal.with_name(f".{goal.name}.half")
        try:
            half.write_text(text, encoding="utf-8", newline="\n")
            os.replace(half, goal)
        finally:
            half.unlink(missing_ok=True)  # a full disk leaves no half of a drawing
        return goal


def _without(attributes: str) -> str:
    return re.sub(r'\s(?:width|height|style)="[^"]*"', "", attributes)
