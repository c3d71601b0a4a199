"""The house language: one term a thing on every screen; each text of the package, its tables and notebooks is read."""

from __future__ import annotations

import ast
import json
import re
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import desalbook as db
from desalbook import paths, summary
from tests.every import every

PACKAGE = Path(db.__file__).parent
REPLACED = {
    r"(?<!question or )(?<!question and )rejects?": "concentrate",
    r"brine": "concentrate",
    r"(?<!eye)wash(es|ed|ing)?\b(?! (out|away|and ice))": "backwash",
    r"(?<!and )(?<!final )rins(ed?|es|ing)": "filter-to-waste",
    r"membrane feed(?!-)|feed of the membranes": "RO feed",
    # a place along the water is upstream or downstream of the membranes; what belongs to them has a noun of its own
    r"(?<!upstream )(?<!downstream )(?<!age )(?<!into )of the membranes": "RO feed, membrane limit, of the RO array",
    r"vessels of other length|\bgives? way\b|\bnot there\b": "elements per vessel, replaced, absent",
    r"membrane recovery|recovery of the membranes": "RO recovery",
    r"sea[ -]waters?": "seawater",
    r"polarisation factor(?<!concentration[- ]polarisation factor)": "concentration-polarisation factor, CP factor",
    r"exchangers?": "isobaric ERD",
    r"(?<!energy )recovery device": "energy recovery device (ERD)",
    r"(?<!pelton )wheels?": "Pelton turbine",
    r"reverse[- ]running pump": "pump as turbine",
    r"suction head": "NPSH",
    r"best (flow|point)": "BEP flow, best-efficiency point",
    r"(?<!at )least(?! (work|squares)\b)": "minimum",
    r"greatest": "maximum",
    r"(?<!and )behind": "downstream of",
    r"ahead of": "upstream of",
    r", held$|\bheld (?=value|pick)": "fixed",
    r"left out": "blank, omitted",
    r"where nothing is written|as the kit picks|the kit picks": "if blank, auto",
    r"head lost": "head loss",
    r"detention": "retention time, contact time",
    r"(part|share) of (the|a) (time|volume|flow|bed|wall|rating|solids|turbidity|feed|concentrate|year|pressure)":
        "fraction of",
    r"supply in store|the store\b|stores?\b(?! and)": "bulk storage",
    r"span of": "turndown",
    r"practical multiple": "dose ratio to stoichiometric",
    r"redox (probe|potential)": "ORP probe, ORP",
    r"(?<!other )reducing agents?": "dechlorination agent",
    r"caustic(?! soda)": "sodium hydroxide",
    r"bisulphite|sulphide|sulphate": "bisulfite, sulfide, sulfate",
    r"cleaning (tank|flow|pump|circuit)": "CIP tank, CIP flow, CIP pump, CIP circuit",
    r"wet hold-ups": "system hold-up volumes",
    r"(?<!electrical )(?<!pump )machines?\b": "equipment, unit",
    r"corners?": "case",
    r"made by": "prepared by, equation or method",
    r"makers?": "manufacturer",
    r"(?<!are )stands (twice|in|at|on|there)": "is given, is present",
    r"(?<!be )(?<!cannot be )told|(?<!is )\bsaid\b": "is reported",
    r"change places|mix at their border": "media inversion, interface intermixing",
    r"thin margin|holds?, \d|\bholds\b(?= on an assumed)": "marginal, passes",
    r"bar g|psi g": "barg, psig",
    r"gentlest|what fails": "single-failure case",
    r"(?<!also )write(?!,? (an empty table|manufacturers|every|only these|the (design|documents)))"
    r"|(?<!cannot be )(?<!\")written(?! to\b| by a newer|: )|leave (\w+ ){1,4}out":
        "set, enter, clear, is given, blank",
    r"what to doubt": "review priorities",
}
"""Words that are replaced, and what is written instead."""
IN_DOCSTRINGS = {
    r"corners?(?! (?::|of the hall))": "case",
    r"left out": "neglected (of a model), blank (of a key), omitted",
    r"(?<!electrical )machines?(?! ?[:,])": "equipment, unit, pump",
    r"(?<!upstream )(?<!downstream )(?<!stand upstream )of the membranes":
        "RO feed, RO recovery, membrane limit, of the RO array",
    r"what to doubt": "review priorities",
}
"""Words that are replaced in docstrings as well; a name of an argument (``corner``, ``machines :``) is none."""
EXCEPTIONS = {
    # cited names, a laboratory's own words, and words that mean something else there
    ("data/chemistry/lab_names.toml", "*"): "headings as laboratories print them",
    ("data/sources.toml", "*"): "titles as published",
    ("data/cleaning_steps.toml", "Rinse"): "a step of a cleaning, not of a filter",
    ("data/cartridge_housings.toml", "*"): "parts of a catalogue",
    ("trail/corner.py", "Corner"): "name of a class",
    ("plant/pressure_train.py", "Machines"): "name of a class",
    ("audit/verify.py", "was made by"): "what made a record",
    ("drawings/water_line/drawing.py", "told"): "a class of the style sheet",
}
"""Places where a replaced word stands on purpose: (file, text that begins so), with the reason."""
NOTEBOOKS = sorted((PACKAGE.parents[1] / "notebooks").glob("*.ipynb"))


def _text(s: str) -> bool:
    """A text for a person: with a space, also at its end (f"write {key}"), or a word that begins with a capital."""
    bare = s.strip()
    begun = bare != s and bare.isalpha()
    return bool(re.search(r"\s", bare)) or begun or (bare[:1].isupper() and bare[1:2].islower())


def _docstrings(tree: ast.AST) -> set[int]:
    found = set()
    for node in ast.walk(tree):
        for x in getattr(node, "body", []) if isinstance(getattr(node, "body", None), list) else []:
            if isinstance(x, ast.Expr) and isinstance(x.value, ast.Constant):
                found.add(id(x.value))
    return found


@cache
def docstrings() -> tuple[tuple[str, str], ...]:
    """Every line of every docstring of the package: (place, line)."""
    out = []
    for path in sorted(PACKAGE.rglob("*.py")):
        if "_carried" in path.parts:
            continue
        tree, name = ast.parse(path.read_text(encoding="utf-8")), path.relative_to(PACKAGE).as_posix()
        docs = _docstrings(tree)
        for n in ast.walk(tree):
            if isinstance(n, ast.Constant) and id(n) in docs and isinstance(n.value, str):
                out += [(f"{name}:{n.lineno + k}", line) for k, line in enumerate(n.value.splitlines())]
    return tuple(out)


@cache
def texts() -> tuple[tuple[str, str], ...]:
    """Every text a person may read: (place, text); docstrings apart."""
    out = []
    for path in sorted(PACKAGE.rglob("*.py")):
        if "_carried" in path.parts:
            continue
        tree, name = ast.parse(path.read_text(encoding="utf-8")), path.relative_to(PACKAGE).as_posix()
        docs = _docstrings(tree)
        out += [(f"{name}:{n.lineno}", n.value) for n in ast.walk(tree)
                if isinstance(n, ast.Constant) and isinstance(n.value, str) and id(n) not in docs]
    for path in sorted(PACKAGE.glob("data/**/*.toml")):
        if "renamed" in path.parts:
            continue
        name = path.relative_to(PACKAGE).as_posix()
        for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if not line.lstrip().startswith("#"):
                out += [(f"{name}:{n}", hit) for hit in re.findall(r'"((?:[^"\\\\]|\\\\.)*)"', line)]
    for path in NOTEBOOKS:
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "markdown":
                out.append((path.name, "".join(cell["source"])))
    return tuple((place, text) for place, text in out if _text(text))


def _excused(place: str, text: str) -> bool:
    file = place.partition(":")[0]
    return any(file == f and (begin == "*" or begin in text) for f, begin in EXCEPTIONS)


@pytest.mark.parametrize("pattern", REPLACED)
def test_no_text_uses_a_word_that_is_replaced(pattern):
    word = re.compile(rf"(?<![\w.`/-])(?:{pattern})(?![\w`]|\.\w)", re.I)
    found = [f"{place}: {line.strip()[:120]}" for place, text in texts() if not _excused(place, text)
             for line in text.splitlines() if word.search(line)]
    assert not found, f"write {REPLACED[pattern]}:\n" + "\n".join(found)


@pytest.mark.parametrize("pattern", IN_DOCSTRINGS)
def test_no_docstring_uses_a_word_that_is_replaced(pattern):
    word = re.compile(rf"(?<![\w.`/-])(?:{pattern})(?![\w`]|\.\w)")
    named = re.compile(r"\s*(corners?|machines?)( :|,)")
    found = [f"{place}: {line.strip()[:120]}" for place, line in docstrings()
             if word.search(line[:1].lower() + line[1:]) and not named.match(line)]
    assert not found, f"write {IN_DOCSTRINGS[pattern]}:\n" + "\n".join(found)


def test_each_exception_is_needed():
    words = re.compile("|".join(f"(?:{p})" for p in REPLACED), re.I)
    for file, begin in EXCEPTIONS:
        assert (PACKAGE / file).exists(), file
        assert begin == "*" or any(p.startswith(file) and begin in t and words.search(t) for p, t in texts()), begin


def test_the_old_words_are_found():
    """The patterns see what they are for."""
    for text in ("Reject pressure", "sea water", "Wash flow", "Greatest flow", "the least size",
                 "Pressure behind a pump", "Head lost in the bed",
                 "at every corner", "Fouling, aged corner", "write 3 %", "write ", "leave it out",
                 "where none is written", "ask the maker", "62 bar g"):
        assert any(re.search(rf"(?<![\w.`/-])(?:{p})(?![\w`]|\.\w)", text, re.I) for p in REPLACED), text


# --- sentences as they are printed ---------------------------------------------------------------------------------

FAULTS = {
    "two spaces": r"\S  +\S",
    "empty brackets": r"\(\s*\)|\[\s*\]",
    "a before a vowel": r"(?<!\d )\b[Aa] \"?(?=[aeiouAEIO])(?!\"?(?:uni|use|usu|one|eu|u[kst]-))\w",
    "an before a consonant": r"\b[Aa]n (?=[bcdgjkpqtvwyz]\w)\w",
    "a plural of one": r"(?<![\d.,\u2009 -])(?<!\d )1 (?!day|s\b)[a-z]{3,}s\b(?<!ss)(?<!us)(?<!is)",
    "two stops": r"\.\.(?!\.)|\?\.|,\s*[.,]",
    "a label pasted twice": r"\((\w+(?: \w+)*) \(\1",
}


@cache
def sized() -> tuple[tuple[str, object], ...]:
    root = Path(__file__).parent
    files = [paths.demo(n) for n in ("harbour-town.toml", "beach-well.toml")] + sorted(root.glob("plants/*.toml"))
    return tuple((Path(f).stem, db.size(db.read(f))) for f in files)


def printed(plant) -> Iterator[tuple[str, str]]:
    """Sentences of a plant by where they come from."""
    from desalbook.design.words import titled

    for units in ("si", "us"):
        for row in plant.judged(units):
            for key in ("title", "why", "do", "caution"):
                yield f"{row['id']} {key} {units}", titled(str(row[key]))
    for id, some in plant.cautions.items():
        yield from ((id, c) for c in some)
    for line in plant.picks:
        yield line.id, f"{line.title}: {line.more.get('why', '')}"


def test_sentences_are_whole():
    def check(case):
        name, plant = case
        for place, text in printed(plant):
            for fault, pattern in FAULTS.items():
                assert not re.search(pattern, text), f"{fault} in {name} {place}: {text}"

    every({name: (name, plant) for name, plant in sized()}, check)


def titles_of(plant) -> tuple[dict[str, set[str]], set[str]]:
    """Ids of the checks under each title, and titles that are too long."""
    by, long = defaultdict(set), set()
    for x in plant.verdicts.values():
        by[x.title].add(x.id.partition("@")[0])
    for id in plant.ids:
        if "@" not in id:
            title = plant[id].title if id not in plant.verdicts else plant.verdicts[id].title
            long |= {f"{id}: {title}"} if len(title) > 45 else set()
    return by, long


def test_titles_are_unique_and_short():
    def check(plant):
        by, long = titles_of(plant)
        assert not {t: ids for t, ids in by.items() if len(ids) > 1} and not long, long

    every(dict(sized()), check)


def test_titles_of_inputs_are_short():
    from tests.random_designs import _keys

    long = [f"{key}: {m.title}" for key, m in _keys() if len(m.title) > 45]
    assert not long


@pytest.mark.full
def test_titles_and_sentences_of_random_plants():
    from desalbook.problems import Problem
    from tests.random_designs import feasible, of_draws, wild

    seen = 0
    for design in (*map(feasible, range(of_draws(140))), *map(wild, range(of_draws(60)))):
        try:
            plant = db.size(design)
        except Problem as problem:
            assert not any(re.search(p, str(problem)) for p in FAULTS.values()), problem
            continue
        by, long = titles_of(plant)
        assert not {t: ids for t, ids in by.items() if len(ids) > 1} and not long, (by, long)
        for place, said in printed(plant):
            assert not any(re.search(p, said) for p in FAULTS.values()), (place, said)
        for units in ("si", "us"):
            lines = summary.text(plant, units).splitlines()
            assert len(lines) <= 64 and max(map(len, lines)) <= 100, (design.get("project.name"), lines)
        seen += 1
    assert seen > of_draws(100)


@pytest.mark.parametrize("units", ["si", "us"])
def test_every_plant_fits_on_one_page(units):
    def check(plant):
        lines = summary.text(plant, units).splitlines()
        assert len(lines) <= 64 and max(map(len, lines)) <= 100, (len(lines), max(lines, key=len))
        text = "\n".join(lines)
        assert " ..." not in text, text  # nothing is cut
        assert not re.search(r"(?<![\d.,\u2009])0 (m|mg/L|kW|m3/h|gpm|ft)\b", text), text
        if units == "us":
            assert not re.search(r"\d (m3/h|m3/d|barg|bar|m/h|L/\(m2 h\)|degC|m3)\b", text), text

    every(dict(sized()), check)


def test_checks_stand_under_some_thirty_systems():
    from desalbook.trail.systems import HAZARDS, SYSTEMS, grouped, safety_notes

    titles = {s.title for s in SYSTEMS}
    for _, plant in sized():
        groups = grouped(plant.judged())
        assert 20 <= len(groups) <= 34 and {g.title for g in groups} <= titles, [g.title for g in groups]
        assert sum(len(g.rows) for g in groups) == len(plant.verdicts)
        for g in groups:
            assert g.title != "Dosing pumps and tanks" or not any(
                r["id"].startswith(("permeate", "energy_recovery")) for r in g.rows)
        notes = safety_notes((x.id, x.more["caution"]) for x in plant.verdicts.values() if x.more.get("caution"))
        assert not [one for hazard, some in notes.items() for one in some if "burst" in one and hazard != HAZARDS[0]]
        lines = summary.checks_text(plant, "us", everything=True).splitlines()
        assert max(map(len, lines)) <= 100, max(lines, key=len)
        for g in groups:
            assert g.verdict in g.words() or g.verdict == "passes", g.words()
