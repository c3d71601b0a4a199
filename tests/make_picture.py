"""Draw the water line of the harbour plant for the README, light and dark: ``python -m tests.make_picture``."""

from __future__ import annotations

import re
from pathlib import Path

from desalbook import api, paths, theme
from desalbook.drawings.water_line.drawing import draw
from desalbook.drawings.water_line.plant import line

__all__ = ["FILES", "drawn", "main"]

FOLDER = Path(__file__).parents[1] / "notebooks"
FILES = {"light": FOLDER / "water-line.svg", "dark": FOLDER / "water-line-dark.svg"}


def drawn(ground: str) -> str:
    """The picture as a file of its own."""
    plant = api.size(paths.demo("harbour-town.toml"))
    page = draw(line(plant.stops), width=1100, theme_css=False, prefix="line")
    found = re.fullmatch(r'<div class="([^"]*)">(<style>.*?</style>)\s*<svg (.*)</div>', page, re.S)
    assert found is not None
    name, style, rest = found.groups()
    style = style.replace(".water-line svg", ".water-line").replace("font-family:inherit", "font-family:sans-serif")
    head, _, body = rest.partition(">")
    ink = theme.GROUNDS["dark" if ground == "light" else "light"]
    whole = theme.standalone(f'<svg class="{name}" {head}>{style}{body}', ground)
    return whole.replace("currentColor", ink) + "\n"


def main() -> None:
    """Write the files."""
    for ground, path in FILES.items():
        path.write_text(drawn(ground), encoding="utf-8", newline="\n")
        print(f"{path.name}: {path.stat().st_size} bytes")


if __name__ == "__main__":
    main()
