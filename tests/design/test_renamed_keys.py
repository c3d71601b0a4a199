"""Keys that had another name are refused with the new one, and no new name is an old one."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

import pytest

from desalbook.design import from_text
from desalbook.design.sections import LISTS, SECTIONS
from desalbook.problems import DesignError
from desalbook.units import metas
from tests.every import every
from tests.shared import demo

RENAMED = tomllib.loads((resources.files("desalbook.data") / "renamed" / "keys.toml").read_text(encoding="utf-8"))


@cache
def keys() -> frozenset[str]:
    """Every key of a design file, lists without the names of their entries."""
    found: list[str] = []

    def walk(at: str, cls) -> None:
        for name, m in metas(cls).items():
            found.append(f"{at}.{name}")
            if m.item is not None and hasattr(m.item, "model_fields"):
                walk(f"{at}.{name}", m.item)

    for name, cls in (*SECTIONS.items(), *((name, m.item) for name, m in LISTS.items())):
        found.append(name)
        walk(name, cls)
    return frozenset(found)


def test_every_new_name_is_a_key_and_no_old_one_is():
    def check(names):
        old, new = names
        assert new in keys(), f"{new} is no key"
        assert old not in keys(), f"{old} is still a key"

    every({old: (old, new) for old, new in RENAMED["keys"].items()}, check)


@pytest.mark.parametrize("key, value, new", [
    ("filters.rinse_time", '"10 min"', "filters.filter_to_waste_time"),
    ("storage.detention", '"1 h"', "storage.retention_time"), ("dosing.store_temperature", '"25 degC"',
                                                              "dosing.storage_temperature")])
def test_an_old_key_is_refused_with_its_new_name(key, value, new):
    section, _, name = key.partition(".")
    text = demo().text.replace(f"[{section}]", f"[{section}]\n{name} = {value}", 1)
    text = text if f"[{section}]" in text else f"{text}\n[{section}]\n{name} = {value}\n"
    with pytest.raises(DesignError, match=f"called {new} now"):
        from_text(text)


def test_an_old_section_and_an_old_choice_are_refused_with_their_new_names():
    with pytest.raises(DesignError, match="called backwash_tank now"):
        from_text(demo().text + "\n[wash_tank]\ncount = 1\n")
    with pytest.raises(DesignError, match="pump-as-turbine"):
        from_text(demo().text.replace('device = "isobaric"', 'device = "reverse-running-pump"'))


def test_an_old_element_sheet_is_refused_with_its_new_name():
    text = demo().text
    for old, new in RENAMED["choices"].items():
        key, _, was = old.partition(" = ")
        if key == "membrane.element":
            with pytest.raises(DesignError, match=new):
                from_text(text.replace(f'element = "{demo().get(key)}"', f'element = "{was}"'))
