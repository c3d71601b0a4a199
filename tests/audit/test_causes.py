"""Causes of a changed status: each told cause is true, against every subset of the changes up to pairs."""

from __future__ import annotations

import gc
import itertools
import random
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import pytest

from desalbook.audit import compare
from desalbook.audit.causes import Causes, changes
from desalbook.audit.page.summary import VALUES
from desalbook.design import Design
from desalbook.plant import size
from desalbook.problems import Problem
from tests import shared
from tests.random_designs import feasible, of_draws

MOVES = {"water.temperature_cold": ("8 degC", "11 degC", "17 degC"),
         "water.temperature_hot": ("32 degC", "35 degC", "39 degC"),
         "membrane.recovery": ("34 %", "37 %", "40 %", "44 %"), "membrane.age": ("1 year", "4 year", "6 year"),
         "duty.trains": ("1", "3"), "water.turbidity": ("2 NTU", "12 NTU", "20 NTU"),
         "antiscalant.dose": ("1 mg/L as product", "4 mg/L as product"), "water.ph": ("7.4", "7.9", "8.3"),
         "membrane.margin_boron": ("0 %", "20 %"), "storage.retention_time": ("0.5 h", "2 h"),
         "filters.rate_limit": ("8 m/h", "10 m/h", "15 m/h"), "dosing.storage_time": ("10 d", "60 d"),
         "energy_recovery.device": ("isobaric", "turbocharger", "none"),
         "cip.flow_per_vessel": ("6 m3/h", "10 m3/h"), "product.boron_limit": ("0.6 mg/L as B", "2.4 mg/L as B")}
"""Keys that are changed at random, with what an engineer would try."""


def pair_of(seed: int) -> tuple[Design, Design] | None:
    """Two designs that differ in 2 to 6 inputs; None where one of them is no plant."""
    draw = random.Random(f"causes {seed}")
    old = shared.demo() if seed % 4 == 0 else feasible(seed)
    keys = draw.sample(sorted(MOVES), draw.randint(2, 6))
    try:
        new = old.with_values({k: draw.choice(MOVES[k]) for k in keys})
        size(old, recording=False), size(new, recording=False)
    except Problem:
        return None
    return old, new


def statuses(design: Design) -> dict[str, str]:
    """Status of every check, without a record."""
    book = size(design, recording=False).ledger
    return {id: x.more["verdict"] for id, x in book.lines.items() if x.sort == "checked"}


class Brute:
    """Every design between two, by writing the values one by one into the text.

    A plant that the tested code sized already is taken over where its design says the same to the letter.
    """

    def __init__(self, old: Design, new: Design, keys: list[str], sized: Causes):
        self.old, self.new, self.keys, self.sized = old, new, keys, sized
        self.at = cache(self._at)

    def _at(self, taken: frozenset[int]) -> dict[str, str] | None:
        design = self.old
        values = {k: self.new.written[s][n] for i, k in enumerate(self.keys) if i in taken
                  for s, _, n in [k.partition(".")]}
        try:
            design = design.with_values({k: v if isinstance(v, bool) else str(v) for k, v in values.items()})
            known = self.sized.state(taken) if taken in self.sized._kept else None
            if known is not None and not known.problem and self.sized.design(taken).written == design.written:
                return {id: verdict for id, (verdict, _) in known.verdicts.items()}
            return statuses(design)
        except Problem:
            return None

    def gives(self, taken: set[int], id: str) -> bool:
        end = self.at(frozenset(range(len(self.keys))))
        here = self.at(frozenset(taken))
        assert end is not None
        return here is not None and here.get(id, "") == end.get(id, "")

    def leaves(self, put_back: set[int], id: str) -> bool:
        rest = set(range(len(self.keys))) - put_back
        return self.at(frozenset(rest)) is not None and not self.gives(rest, id)


def proved(old: Design, new: Design) -> int:
    """Check each cause told of two designs against every subset up to pairs; how many checks changed status."""
    before, after = statuses(old), statuses(new)
    turned = tuple(i for i in {**after, **before} if before.get(i) != after.get(i))
    found = Causes(old, new, turned)
    keys = [c.id for c in found.changes]
    assert all(c.keys == (c.id,) for c in found.changes)
    causes = found.causes
    brute, n = Brute(old, new, keys, found), range(len(keys))
    pairs = [set(p) for p in itertools.combinations(n, 2)]
    for id, one in causes.items():
        if any(s.also >= 0 for s in (*found.alone, *found.back)):
            continue  # refused alone: told with the change it needs, which is no single one
        assert set(one.needed) == {i for i in n if brute.leaves({i}, id)}, (id, one)
        enough = {i for i in n if brute.gives({i}, id)}
        if one.how == "alone":
            assert set(one.enough) == enough, (id, one)
            assert not one.without or brute.leaves(set(one.without), id)
        else:
            assert not enough, (id, one)
        if one.how == "pair":
            assert brute.gives(set(one.enough), id), (id, one)
        if one.how == "back":
            assert brute.leaves(set(one.without), id) and not one.needed
        if one.how == "needed":
            assert one.needed
            assert len(one.needed) > 2 or not one.tried or not any(
                brute.gives(p, id) for p in pairs if set(one.needed) <= p), (id, one)
        if one.how == "many":
            assert not one.needed
            assert not one.tried or not any(brute.gives(p, id) or brute.leaves(p, id) for p in pairs), (id, one)
    return len(turned)


@pytest.mark.parametrize("seed", [0, 4, 9])
def test_causes_are_true(seed):
    both = pair_of(seed)
    assert both is None or proved(*both) >= 0


@pytest.mark.full
@pytest.mark.parametrize("part", range(4))
def test_causes_of_two_hundred_pairs_are_true(part):
    told, sized, wanted = 0, 0, of_draws(50)
    for seed in range(1000 * part, 1000 * part + 1000):
        both = pair_of(seed)
        if both is None:
            continue
        told += proved(*both)
        sized += 1
        if sized == wanted:
            break
    assert sized == wanted and told > 2 * wanted


def test_the_cold_water_is_not_blamed_for_the_boron_of_the_hot():
    """Putting the coldest water back changes nothing to the last digit; the hottest alone explains it."""
    old = shared.demo()
    new = old.with_values({"water.temperature_cold": "23.9 degC", "water.temperature_design": "26 degC",
                           "water.temperature_hot": "33 degC"})
    got = compare(shared.recorded(), shared.plant(new).record)
    id = "product.boron.check_limit"
    row = got.checks.set_index("id").loc[id]
    assert row["new"] == "fails" and row["how"] == "alone" and row["causes"] == "water.temperature_hot"
    assert row["chain"].split()[0] == "water.temperature_hot"
    assert row["why"].startswith("Maximum water temperature (3) alone.")
    effects = got.effects.set_index(["id", "input"])
    assert effects.loc[(id, "water.temperature_hot"), "share"] == pytest.approx(1.0, abs=1e-9)
    assert effects.loc[(id, "water.temperature_cold"), "carried"] == 0.0
    assert got.causes is not None
    cold = [c.id for c in got.causes.changes].index("water.temperature_cold")
    assert got.causes.moves_nothing(cold, id)
    assert "Minimum water temperature (1) and Design temperature (2) move nothing here." in row["why"]
    assert "Maximum water temperature (3) alone." in got.text()
    assert id in got.html(ways=True) and "Maximum water temperature (3) alone." in got.html()


TEN = {"water.temperature_cold": "10 degC", "water.temperature_hot": "33 degC", "membrane.recovery": "44 %",
       "membrane.age": "5 year", "water.turbidity": "14 NTU", "water.ions[Na]": "11 400 mg/L",
       "water.ions[Cl]": "20 460 mg/L", "water.ions[B]": "5.1 mg/L", "antiscalant.dose": "3 mg/L as product",
       "duty.train_product_flow": "2600 m3/d"}


@pytest.mark.full
def test_ten_changed_inputs_cost_some_twenty_five_plants():
    """Counted, not timed: whatever the machine, a comparison costs as many plants; pairs beyond that are said."""
    old = shared.demo()
    new = old.with_values(TEN)
    got = compare(shared.recorded(), shared.plant(new).record, names=("old.toml", "new.toml"))
    text = got.text()
    assert got.causes is not None and len(got.causes.changes) == 10
    assert set(got.inputs["id"]) >= set(TEN)
    assert got.causes.sized <= 26
    assert len(got.checks) > 5 and all(got.checks["how"] != "")
    assert text.startswith("Old  old.toml") and "New  new.toml" in text
    assert "Sodium (Na): 11" in text and "(water.ions[Na])" in text
    # two changes that only together make a check fail are named as a pair
    how = got.checks.set_index("id")
    assert how.loc["product.tds.check_product_tds", "how"] == "pair"
    assert set(how.loc["product.tds.check_product_tds", "causes"].split()) == {"water.temperature_hot", "membrane.age"}
    assert max(map(len, text.splitlines())) <= 100
    for id, some in got.effects.groupby("id"):  # what inputs carry adds up, but for what only several do together
        if id in got.ten:
            assert some["share"].sum() == pytest.approx(1.0, abs=0.1), id


def test_every_changed_entry_of_an_analysis_is_a_change():
    old = shared.demo()
    ions = {f"water.ions[{k}]": f"{old.get(f'water.ions[{k}]') * 1.01 * 1000:.6g} mg/L"
            for k in ("Na", "K", "Ca", "Mg", "Sr", "Cl", "SO4", "HCO3", "Br", "F", "B")}
    found = changes(old, old.with_values(ions))
    assert [c.id for c in found] == list(ions) and all(c.old != c.new for c in found)


def test_what_is_written_as_it_was_assumed_is_one_change():
    old = shared.demo()
    new = old.with_values({"storage.retention_time": "60 min", "site.altitude": "5 m", "filters.rate_limit": (
        f"{old.get('filters.rate_limit') * 3600:.12g} m/h")})
    found = changes(old, new)
    assert len(found) == 1 and found[0].keys == ("filters.rate_limit",) and found[0].new == "set"


def test_a_part_that_comes_is_one_change_and_many_are_taken_by_section():
    found = changes(shared.demo(), shared.demo(shared.WELL))
    by = {c.id: c for c in found}
    assert by["filters"].old == "present" and by["filters"].new == "not in this plant"
    assert len(found) <= 16 and {p.id for p in by["water"].parts} >= {"water.ions[Na]", "water.temperature_cold"}
    assert {k for c in found for k in c.keys} >= {"duty.trains", "membrane.row"}


@pytest.mark.parametrize("taken", [(0,), (1,), (0, 2), (0, 1, 2)])
def test_a_design_between_is_the_old_one_with_those_values(taken):
    old = shared.demo()
    values = {"membrane.recovery": "44 %", "water.ions[B]": "5.1 mg/L", "chlorination.residual": "0.7 mg/L as Cl2"}
    found = Causes(old, old.with_values(values))
    keys = [c.id for c in found.changes]
    assert set(keys) == set(values)
    got = found.design(taken)
    want = old.with_values({keys[n]: values[keys[n]] for n in taken})
    assert got.written == want.written


def test_without_the_text_of_a_design_the_causes_are_said_to_be_untested():
    old = {k: v for k, v in shared.recorded().items() if k != "design"}
    got = compare(old, shared.plant(shared.demo().with_value("water.temperature_hot", "33 degC")).record)
    assert got.causes is None and "no text of its design" in got.untested
    assert "Causes were not tested." in got.text() and "Causes were not tested." in got.html()
    assert (got.checks["how"] == "").all() and (got.checks["chain"] != "").all()


def test_no_search_for_cycles_while_a_plant_between_is_sized():
    """With two records at hand the collector took a third of a comparison's time."""
    found = Causes(shared.demo(), shared.demo().with_values({"membrane.recovery": "43.7 %", "membrane.age": "4 year"}))
    sections, runs = [found.design({0}), found.design({1})], []

    def seen(phase, info):
        runs.append(info["generation"])

    gc.callbacks.append(seen)
    try:
        found._size(sections[0])
    finally:
        gc.callbacks.remove(seen)
    assert len(runs) <= 1 and gc.isenabled()  # one is due as soon as it is on again
    # sections that did not change are written once
    assert len(found._texts) <= len(shared.demo().written) + 2


def test_workers_give_the_same_causes(monkeypatch):
    """What is sized by other processes is taken as it comes, not sized again; the caller sizes as well."""
    old = shared.demo()
    new = old.with_values({"water.temperature_hot": "33 degC", "membrane.age": "5 year"})
    records = shared.recorded(), shared.plant(new).record
    here = compare(*records)
    want = here.text()
    own, size_here = [], Causes._size
    monkeypatch.setattr(Causes, "_size", lambda self, design: (own.append(design), size_here(self, design))[1])
    with ThreadPoolExecutor(1) as one:
        begun = Causes(old, new, values=VALUES, executor=one)
        begun.begin()  # before the records are at hand
        there = compare(*records, executor=one, begun=begun)
        assert there.text() == want and here.causes is not None and there.causes is begun
        assert begun.sized == here.causes.sized > len(own) >= 2
        assert len(begun._kept) == len(here.causes._kept)
        other = Causes(old, old.with_values({"membrane.age": "5 year"}), values=VALUES, executor=one)
        assert compare(*records, executor=one, begun=other).causes is not other
