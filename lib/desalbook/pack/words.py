"""What the templates of the offer and the manual may ask: names, tags, groups and values of the plant, in words."""

from __future__ import annotations

from typing import Any

from desalbook.guidelines import guideline
from desalbook.pack.plant_source import Source, plural
from desalbook.tables import table

__all__ = ["context"]

_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_BACKWASH = {"raw": "raw seawater", "filtrate": "filtered seawater", "concentrate": "concentrate"}
_USES = {"drinking": "drinking water", "process": "process water", "irrigation": "water for irrigation",
         "concrete": "water for concrete", "boiler": "feed of boilers, before polishing"}


def _in_words(n: float) -> str:
    return _SMALL[int(n)] if int(n) < len(_SMALL) else f"{n:.0f}"


class Words:
    """Functions of the templates over one plant."""

    def __init__(self, of: Source):
        self.of = of

    def group(self, key: str, noun: str) -> str:
        """``one feed pump in each train (P-201, with one standby)``."""
        row = self.of.by_key[key]
        duty, standby = row["duty"], row["standby"]
        words = plural(duty, noun).partition(" ")[2]
        of_train = " in each train" if row["scope"] == "train" and self.of.trains > 1 else ""
        spare = f", with {_in_words(standby)} standby" if standby else ""
        return f"{_in_words(duty)} {words}{of_train} ({row['tag']}{spare})"

    def one(self, key: str) -> bool:
        """Whether one unit of a group runs, so that the verb is singular."""
        return self.of.by_key[key]["duty"] == 1

    def units(self, key: str) -> str:
        """Number of units of a group, in words."""
        return _in_words(self.of.by_key[key]["duty"])

    def count(self, id: str) -> str:
        """A count in words."""
        return _in_words(self.of.number(id) or 0.0)

    def dosed(self, step: str) -> bool:
        """Whether the plant has the dosing of a step."""
        return f"dosing_{step}" in self.of.by_key

    def chemical(self, step: str) -> str:
        """Title of the chemical of a step, its strength left to the schedule."""
        title = next(c["chemical"] for c in self.of.chemicals if c["key"] == step)
        return str(title).partition(",")[0]

    def measured(self, key: str) -> str:
        """Tag of an instrument; empty where the plant has none."""
        return next((str(i["tag"]) for i in self.of.instruments if i["key"] == key), "")

    def show(self, id: str, digits: int | None = None) -> str:
        """Value of an id in a sentence.

        Raises
        ------
        KeyError
            The plant has no such value: the sentence must not be there.
        """
        if id not in self.of.ids:
            raise KeyError(id)
        return self.of.show(id, digits)

    def limit(self, key: str) -> str:
        """A guideline limit with its unit."""
        found = guideline(key)
        return self.of.text(found.value, found.kind)

    def between(self) -> list[str]:
        """A sentence for each pump between stages or passes."""
        return [f"{row['title']} ({row['tag']}): it raises the pressure on the way from one bank to the next."
                for row in self.of.equipment if "head" in row and row["key"] not in table("equipment")]

    def banks(self) -> list[str]:
        """A sentence for each bank of vessels, where there is more than one."""
        said = []
        for key, row in self.of.by_key.items():
            if not key.startswith("vessels["):
                continue
            name = row["title"].partition(", ")[2]
            elements = self.of.by_key[f"elements{key.removeprefix('vessels')}"]["tag"]
            held = _in_words(float(row["elements"]))
            said.append(f"{name[:1].upper()}{name[1:]}: {_in_words(row['duty'])} pressure vessels in each train "
                        f"({row['tag']}) with {held} elements each ({elements}).")
        return said


def context(of: Source) -> dict[str, Any]:
    """Names that templates may use."""
    w, plant = Words(of), of.plant
    route = of.choice("product.remineralisation")
    kind = of.sized.device.kind
    panels = [of.by_key[k]["tag"] for k in of.by_key if k.startswith("panel_")]
    product = of.choice("cip.flush_water") == "product" if "cip.flush_water" in of.ids else False
    return {
        "has": of.has, "tag": of.tag, "show": w.show, "known": lambda id: id in of.ids,
        "single": of.trains == 1, "choice": of.choice, "duration": of.duration, "group": w.group,
        "one": w.one, "units": w.units, "count": w.count, "dosed": w.dosed, "chemical": w.chemical,
        "sequences": tuple(of.sequences), "measured": w.measured, "limit": w.limit,
        "project": plant.project.get("name", ""), "client": plant.project.get("client", ""),
        "note": plant.project.get("note", "").rstrip("."), "date": of.words("offer.date"),
        "source": of.choice("water.source"), "use": _USES[of.choice("duty.product_use")],
        "trains_words": f"{_in_words(of.trains)} {'train' if of.trains == 1 else 'trains'}",
        "backwash": _BACKWASH[of.choice("filters.backwash_source")] if of.has("backwash_pump") else "",
        "device": kind.key, "device_title": kind.label, "route": route,
        "route_title": of.option("product.remineralisation"), "flush": "product" if product else "permeate",
        "staged": any(k.startswith("vessels[") for k in of.by_key), "banks": w.banks(),
        "between": w.between(),
        "panels": f"panels ({', '.join(panels)})" if panels else "a panel", "terms": of.option("offer.delivery_terms"),
    }
