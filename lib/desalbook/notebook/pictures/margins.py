"""The plant at a glance: how much of each limit is used, step by step, with the tightest named."""

from __future__ import annotations

from typing import Any

from desalbook import theme
from desalbook.audit.page.bars import used
from desalbook.drawings import read, svg
from desalbook.drawings.svg import number
from desalbook.drawings.water_line.layout import fit
from desalbook.notebook.steps import STEPS
from desalbook.summary import said as said_of

__all__ = ["margins_picture"]

_END = 1.2  # of the limit; what lies beyond stands at the end


def margins_picture(plant: Any, units: str = "si", width: int = 520) -> str:
    """One row a step: each check as a mark at the share of its limit that is used.

    Parameters
    ----------
    plant : Sized or Plant
    units : {"si", "us"}
        Shares have none; taken so that all pictures are called alike.

    Returns
    -------
    str
        HTML with one SVG. A check without a margin, such as a caution, is not in it.
    """
    judged = [(x.more["margin"], x) for x in plant.verdicts.values() if x.more.get("margin") is not None
              and x.more["verdict"] != "review"]
    x0, x1, step = 156.0, width - 14.0, 42.0
    bottom = 30.0
    body, said = [], []

    def at(share: float) -> float:
        return x0 + (x1 - x0) * min(max(share, 0.0), _END) / _END

    for one in (s for s in STEPS.values() if s.watch):
        mine = sorted(((m, x) for m, x in judged if one.mine(x.id)), key=lambda pair: -pair[0])
        if not mine:
            continue
        y = bottom + 10
        body += [svg.text(4, y + 4, _short(one.title)), svg.line(x0, y, x1, y, "quiet", "", 0.5)]
        for margin, x in mine:
            share = used(margin, x.more["sense"])
            role = x.more["verdict"]
            px, tall = at(share), 5 if role == "passes" else 8
            told = read.mark(f"{x.title}: {said_of(x.more)}, {100 * share:.0f} % of the limit used")
            body.append(f'<path d="M{number(px)},{number(y - tall)}V{number(y + tall)}" stroke="{theme.var(role)}" '
                        f'stroke-width="{1.5 if role == "passes" else 2.5}" fill="none"{told}/>')
        margin, worst = mine[-1]
        role = theme.of_verdict(worst.more["verdict"])
        word = f"margin {100 * margin:.1f} %" if role.name != "fails" else f"fails by {-100 * margin:.1f} %"
        text = fit(f"{role.mark} {worst.title}", 12, at(1.0) - 110)
        body.append(svg.text(at(1.0) - 5, y + 22, f"{text}: {word}", "end", "small", role.name))
        said.append(f"{one.title}: {len(mine)} checks, the tightest {worst.title}, {role.word}, {word}")
        bottom += step
    top = 20.0
    head = [svg.line(at(1.0), top, at(1.0), bottom, "fails", "5 3", 1.3),
            svg.text(at(1.0), 14, "limit", "middle", "small", "fails")]
    for share in (0.0, 0.5):
        head.append(svg.text(at(share), 14, f"{100 * share:.0f} %", "start" if not share else "middle", "small"))
    body.append(svg.text(4, bottom + 16,
                         "Fraction of each limit used; one stroke a check, the tightest of a step named.", "start",
                         "small"))
    return svg.picture("margins", "How near the limits", "; ".join(said) + ".", width, bottom + 26, [*head, *body])


def _short(title: str) -> str:
    return title.partition(",")[0]
