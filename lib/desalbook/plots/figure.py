"""What all plots share: a figure with a text alternative, the theme's colours, axes that say their units."""

from __future__ import annotations

import functools
import io
import re
from collections.abc import Callable, Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING, Any, ParamSpec

import numpy as np

from desalbook import theme
from desalbook.drawings.chart import shown
from desalbook.drawings.drawing import Drawing
from desalbook.problems import DesignError
from desalbook.units import in_currency, unit_label

try:
    import matplotlib
    from matplotlib.figure import Figure
    from matplotlib.ticker import FuncFormatter
except ImportError:
    raise DesignError("matplotlib is not installed", where="plot",
                      do='install it with pip install "desalbook[lab]"') from None

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["DASH", "INK", "Plot", "axes", "axis_label", "colour", "label_ends", "limit_line", "new", "shown", "styled",
           "thin_thousands"]

INK = "#1a1a1b"
"""Colour of text, which follows the ground in a notebook."""
DASH = ("-", (0, (6, 3)), (0, (2, 3)), (0, (8, 3, 2, 3)))
"""Line styles beside colours, so that lines differ in grey too."""
_POINTS = 72.0  # an inch; a width of 520 is 520 px in the notebook
_STYLE = {
    "font.size": 12.0, "axes.labelsize": 12.0, "xtick.labelsize": 12.0, "ytick.labelsize": 12.0,
    "font.family": "sans-serif", "text.color": INK, "axes.labelcolor": INK, "axes.edgecolor": theme.colour("quiet"),
    "xtick.color": theme.colour("quiet"), "ytick.color": theme.colour("quiet"), "axes.spines.top": False,
    "axes.spines.right": False, "axes.facecolor": "none", "axes.grid": True,
    "grid.color": theme.colour("quiet"), "grid.alpha": 0.35, "grid.linewidth": 0.5, "axes.axisbelow": True,
    "lines.linewidth": 1.8, "lines.markersize": 5.0,
    "svg.fonttype": "none", "svg.hashsalt": "desalbook", "axes.unicode_minus": True}
_P = ParamSpec("_P")


class Plot(Figure):
    """A matplotlib figure that says in words what it shows.

    Attributes
    ----------
    name : str
        Title of the plot.
    alternative : str
        What it shows, for those who do not see it.
    """

    name = ""
    alternative = ""

    def draw(self, renderer: Any) -> None:
        """Draw in the style of the kit: ticks are made only now."""
        with matplotlib.rc_context(_STYLE):  # pyright: ignore[reportArgumentType]  # keys are texts here
            super().draw(renderer)

    def svg(self, ground: str = "light") -> str:
        """The plot as an SVG file that stands alone, on its ground, with its text alternative.

        Parameters
        ----------
        ground : {"light", "dark"}

        Raises
        ------
        DesignError
            No such ground.
        """
        return self._drawing().svg(ground)

    def _drawing(self) -> Drawing:
        return Drawing(f'<div class="desalbook"><style>{theme.css()}</style>{self._text()}</div>', self.name)

    def _text(self) -> str:
        """SVG in the colours of the theme's style sheet."""
        out = io.StringIO()
        with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": "desalbook"}):
            self.savefig(out, format="svg", facecolor="none", edgecolor="none", metadata={"Date": None})
        text = out.getvalue()
        body = _plain(text[text.index("<svg"):].strip())
        width, height = (_POINTS * float(x) for x in self.get_size_inches())
        first = self.alternative.split("; ")[0].rstrip(".")
        head = (f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" role="img" '
                f'stroke-linejoin="round" stroke-linecap="butt" '
                f'aria-label="{escape(self.name)}: {escape(first)}." viewBox="0 0 {width:g} {height:g}" width="100%" '
                f'style="max-width:{1.1 * width:g}px;font-family:inherit"><title>{escape(self.name)}</title>'
                f"<desc>{escape(self.alternative)}</desc>")
        body = re.sub(r"<svg[^>]*>", lambda _: head, body, count=1)
        return _VARIABLES.sub(lambda m: _NAMES[m[0].lower()], body)

    def _repr_html_(self) -> str:
        return self._drawing().html


def _plain(svg: str) -> str:
    """SVG that may stand in a page with others: no rules for the whole page, no ids but those it refers to itself."""
    svg = re.sub(r"<metadata>.*?</metadata>|<defs>\s*<style.*?</style>\s*</defs>", "", svg, flags=re.DOTALL)
    kept = set(re.findall(r"#(\w+)", svg))
    return re.sub(r"<[a-z][^>]*>", lambda tag: _tag(tag[0], kept), re.sub(r"\s*\n\s*", " ", svg))


def _tag(tag: str, kept: set[str]) -> str:
    tag = re.sub(r' id="([^"]*)"', lambda m: m[0] if m[1] in kept else "", tag)
    tag = re.sub(r' transform="rotate\(-?0 [^"]*"', "", tag)
    tag = re.sub(r' style="([^"]*)"', lambda m: "".join(map(_attribute, m[1].split(";"))), tag)
    return re.sub(r"(\d\.\d\d)\d+", r"\1", tag)


def _attribute(rule: str) -> str:
    name, _, value = (part.strip() for part in rule.partition(":"))
    return f' {name}="{value.removesuffix("px")}"' if value and name != "font-family" else ""  # the page's own font


_NAMES = {INK: "var(--db-text)"} | {r.light.lower(): f"var(--db-{r.name})" for r in theme.ROLES.values()}
_VARIABLES = re.compile("|".join(map(re.escape, _NAMES)), re.IGNORECASE)


def styled(draw: Callable[_P, Plot]) -> Callable[_P, Plot]:
    """Decorate a function that draws: it does so in the style of the kit, whatever a person has set."""
    @functools.wraps(draw)
    def run(*args: _P.args, **named: _P.kwargs) -> Plot:
        with matplotlib.rc_context(_STYLE):  # pyright: ignore[reportArgumentType]  # keys are texts here
            return draw(*args, **named)
    return run


def colour(role: str) -> str:
    """Colour of a role of the theme, ``#rrggbb`` on a light ground."""
    return theme.colour(role)


def axes(plot: Plot, left: float = 62, bottom: float = 46, right: float = 16, top: float = 16) -> Axes:
    """The only axes of a figure, with margins in points."""
    width, height = (_POINTS * float(x) for x in plot.get_size_inches())
    return plot.add_axes((left / width, bottom / height, 1 - (left + right) / width, 1 - (bottom + top) / height))


def axis_label(words: str, kind: str, units: str, currency: str = "") -> str:
    """What an axis shows, with its unit, and its currency where it is money."""
    unit = in_currency(unit_label(kind, units, pretty=True), kind, currency)
    return f"{words}, {unit}" if unit else words


def thin_thousands(ax: Axes) -> None:
    """Thin spaces between thousands at both axes, as everywhere in the kit."""
    def written(value: float, _: int) -> str:
        return f"{value:,.7g}".replace(",", "\N{THIN SPACE}").replace("-", "\N{MINUS SIGN}")

    ax.xaxis.set_major_formatter(FuncFormatter(written))
    ax.yaxis.set_major_formatter(FuncFormatter(written))


def label_ends(ax: Axes, ends: Iterable[tuple[float, float, str, str]], apart: float = 14.0) -> None:
    """Names at the ends of lines, (x, y, words, role), pushed apart where they would lie on one another."""
    to_points = 1 / ax.figure.dpi * _POINTS
    placed = sorted(((float(ax.transData.transform((x, y))[1]) * to_points, x, y, words, role)
                     for x, y, words, role in ends), key=lambda e: e[0])
    floor = -np.inf
    for at, x, y, words, role in placed:
        lifted = max(at, floor + apart)
        floor = lifted
        ax.annotate(words, (x, y), xytext=(6, lifted - at - 4), textcoords="offset points", color=colour(role),
                    annotation_clip=False)


def limit_line(ax: Axes, value: float, words: str, along: str = "x", above: bool = False) -> None:
    """A limit as a labelled line across the axes; its words at the foot of an upright line, or above it."""
    draw = ax.axhline if along == "x" else ax.axvline
    draw(value, color=colour("fails"), linestyle=DASH[1], linewidth=1.3)
    if along == "x":
        ax.annotate(words, (1, value), xycoords=("axes fraction", "data"), xytext=(-2, 4), textcoords="offset points",
                    ha="right", color=colour("fails"))
    else:
        ax.annotate(words, (value, float(above)), xycoords=("data", "axes fraction"), xytext=(0 if above else -4, 4),
                    textcoords="offset points", ha="center" if above else "right", color=colour("fails"))


def new(name: str, alternative: Sequence[str] | str, width: float = 520, height: float = 300) -> Plot:
    """An empty plot of a size in points."""
    made = Plot(figsize=(width / _POINTS, height / _POINTS), dpi=_POINTS)
    made.name = name
    made.alternative = alternative if isinstance(alternative, str) else "; ".join(alternative) + "."
    return made
