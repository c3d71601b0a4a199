"""The one place colours come from: roles, the salinity ramp, and the style sheet that carries both.

A role is never a colour alone: each has a mark and a word, so that a figure is read the same in grey, on
paper, and by a person who does not tell red from green. Text colours come in two values, one for a light
ground and one for a dark one; the tints of the ramp are fixed, for a tint that changed with the theme
would say that the water had changed.

The style sheet follows the notebook's own theme (JupyterLab marks the page with
``data-jp-theme-light``) and not the operating system's, because a saved record is white paper whatever
the reader's desktop looks like. Print always takes the light values.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise

from desalbook.problems import DesignError

__all__ = ["GROUNDS", "RAMP_FULL", "ROLES", "Role", "colour", "css", "ramp", "role", "standalone", "tint", "var"]

GROUNDS = {"light": "#ffffff", "dark": "#111111"}
"""Grounds on which every text colour is tested for contrast."""

RAMP_FULL = 0.080
"""Salinity at the violet end of the ramp, kg salt per kg water. The scale is absolute, so that two plants
can be compared by eye; it covers the concentrate of seawater plants (common practice, no source)."""


@dataclass(frozen=True)
class Role:
    """What a colour stands for.

    Parameters
    ----------
    name : str
        Key in `ROLES`; the CSS variable is ``--db-`` and this name.
    light, dark : str
        Text and line colour on a light and on a dark ground, ``#rrggbb``.
    mark : str
        One character that says the same without colour.
    word : str
        The word that goes with it.
    """

    name: str
    light: str
    dark: str
    mark: str
    word: str


ROLES: dict[str, Role] = {
    r.name: r
    for r in (
        Role("sea", "#1d6a99", "#74bbe6", "≈", "sea"),
        Role("product", "#1c7558", "#a3e3c9", "○", "product"),
        Role("reject", "#5340a8", "#b4a8f4", "●", "reject"),
        Role("energy", "#a34b00", "#f4a259", "▲", "energy"),
        Role("chemical", "#87207f", "#e59ce6", "◆", "chemical"),
        Role("fails", "#981634", "#ff5d78", "✗", "fails"),
        Role("marginal", "#7d6400", "#f0d060", "!", "marginal"),
        Role("passes", "#00706e", "#5fd6d0", "✓", "passes"),
        Role("quiet", "#59636e", "#a4afba", "·", "note"),
    )
}
"""All roles by name. ``quiet`` is for axes and secondary text."""

# Anchors of the ramp at 0, at seawater, and at the full scale. Lightness falls all the way, so the order
# survives in grey; the pale end stays off white and the violet end stays off black.
_RAMP = ((0.0, "#abe3cb"), (0.22, "#79c8cf"), (0.45, "#3d93c6"), (0.72, "#4762b4"), (1.0, "#5a3a9c"))


def of_verdict(verdict: str) -> Role:
    """The role a verdict is drawn in; one for review is drawn as a marginal one is."""
    return ROLES["marginal" if verdict == "review" else verdict]


def role(name: str) -> Role:
    """The role of that name.

    Raises
    ------
    DesignError
        When there is no such role.
    """
    try:
        return ROLES[name]
    except KeyError:
        raise DesignError("no such colour role", where="theme.role", value=name,
                          allowed=", ".join(ROLES), do="use one of these names") from None


def colour(name: str, theme: str = "light") -> str:
    """``#rrggbb`` of a role on the ``light`` or the ``dark`` ground."""
    if theme not in GROUNDS:
        raise DesignError("no such theme", where="theme.colour", value=theme, allowed=", ".join(GROUNDS),
                          do="use one of these names")
    return getattr(role(name), theme)


def var(name: str) -> str:
    """The CSS reference to a role, for example ``var(--db-fails)``."""
    return f"var(--db-{role(name).name})"


def standalone(svg: str, theme: str = "light") -> str:
    """A picture as a file of its own: every variable of the style sheet replaced by its colour, on its ground.

    Parameters
    ----------
    svg : str
        One ``svg`` element with colours by `var`.
    theme : {"light", "dark"}
    """
    ground = GROUNDS[theme]
    fixed = {"text": GROUNDS["dark" if theme == "light" else "light"], "ground": ground}
    fixed.update({name: colour(name, theme) for name in ROLES})
    svg = re.sub(r"var\(--db-([a-z]+)\)", lambda m: fixed[m[1]], svg)
    view = re.search(r'viewBox="(\S+) (\S+) ', svg)  # the picture need not begin at nought
    at = f'x="{view[1]}" y="{view[2]}" ' if view else ""
    return re.sub(r"(<svg[^>]*>)", rf'\1<rect {at}width="100%" height="100%" fill="{ground}"/>', svg, count=1)


@lru_cache(maxsize=512)
def ramp(t: float) -> str:
    """Colour of the salinity ramp.

    Parameters
    ----------
    t : float
        Place on the ramp, 0 (pale green) to 1 (violet); clipped outside.

    Returns
    -------
    str
        ``#rrggbb``. Between anchors the blend is linear in OKLab, which keeps lightness even to the eye
        (Ottosson 2020, "A perceptual color space for image processing"; matrices from memory, proved by
        the round trip in the tests).
    """
    t = min(max(float(t), 0.0), 1.0)
    for (t0, c0), (t1, c1) in pairwise(_RAMP):
        if t <= t1:
            f = (t - t0) / (t1 - t0)
            a, b = oklab(c0), oklab(c1)
            return _hex(tuple(x + f * (y - x) for x, y in zip(a, b, strict=True)))
    return _RAMP[-1][1]


def tint(salinity: float) -> str:
    """Tint of water of that salinity, kg salt per kg water, on the absolute scale ending at `RAMP_FULL`."""
    return ramp(salinity / RAMP_FULL)


def _linear(colour_hex: str) -> list[float]:
    """Linear light of the three channels, 0 to 1 (IEC 61966-2-1 transfer function)."""
    parts = (int(colour_hex[i:i + 2], 16) / 255 for i in (1, 3, 5))
    return [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]


def oklab(colour_hex: str) -> tuple[float, float, float]:
    """Lightness (0 to 1) and the two opponent coordinates of ``#rrggbb`` in OKLab."""
    r, g, b = _linear(colour_hex)
    l_ = (0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b) ** (1 / 3)
    m_ = (0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b) ** (1 / 3)
    s_ = (0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b) ** (1 / 3)
    return (0.2104542553 * l_ + 0.7936177850 * m_ - 0.0040720468 * s_,
            1.9779984951 * l_ - 2.4285922050 * m_ + 0.4505937099 * s_,
            0.0259040371 * l_ + 0.7827717662 * m_ - 0.8086757660 * s_)


def _hex(lab: tuple[float, ...]) -> str:
    light, a, b = lab
    l3 = (light + 0.3963377774 * a + 0.2158037573 * b) ** 3
    m3 = (light - 0.1055613458 * a - 0.0638541728 * b) ** 3
    s3 = (light - 0.0894841775 * a - 1.2914855480 * b) ** 3
    rgb = (4.0767416621 * l3 - 3.3077115913 * m3 + 0.2309699292 * s3,
           -1.2684380046 * l3 + 2.6097574011 * m3 - 0.3413193965 * s3,
           -0.0041960863 * l3 - 0.7034186147 * m3 + 1.7076147010 * s3)
    shown = []
    for c in rgb:
        c = min(max(c, 0.0), 1.0)
        shown.append(round(255 * (12.92 * c if c <= 0.0031308 else 1.055 * c ** (1 / 2.4) - 0.055)))
    return "#{:02x}{:02x}{:02x}".format(*shown)


@cache
def css() -> str:
    """The style sheet, without the ``<style>`` tags: variables of every role on class ``desalbook``.

    Beside the roles it sets ``--db-ground`` (what lies behind, used as a halo round text) and
    ``--db-text``; an element of class ``db-paper`` has the values of print. Put it on a page once; a second
    copy does no harm.
    """
    def block(theme: str) -> str:
        return "".join(f"--db-{r.name}:{getattr(r, theme)};" for r in ROLES.values())

    dark = '[data-jp-theme-light="false"] .desalbook'
    return (
        f".desalbook{{{block('light')}--db-text:var(--jp-content-font-color1,currentColor);"
        f"--db-ground:var(--jp-layout-color0,{GROUNDS['light']});color:var(--db-text)}}\n"
        f"{dark}{{{block('dark')}--db-ground:var(--jp-layout-color0,{GROUNDS['dark']})}}\n"
        f"@media print{{.desalbook,{dark}{{{block('light')}"
        f"--db-text:#000;--db-ground:#fff;color:#000}}}}\n"
        f".desalbook.db-paper{{{block('light')}--db-text:#000;--db-ground:#fff}}\n"
    )
