"""The workbook of each demo plant, calculated from scratch by a spreadsheet program, before and after a change."""

from __future__ import annotations

from typing import Any, NamedTuple

import pytest

from desalbook import api, paths
from desalbook.audit.graph import SAME, children, descendants, parents, scales
from desalbook.audit.recompute import evaluated
from desalbook.audit.workbook.book import workbook
from desalbook.audit.workbook.formulas import Formulas
from desalbook.audit.workbook.places import Places
from desalbook.problems import Problem
from desalbook.trail import what_if
from desalbook.trail.stored import value_at
from tests.outside.office import bare, recalculated, values

pytestmark = pytest.mark.outside
PLANTS = ("harbour-town.toml", "beach-well.toml")
MOVES = (
    "filters.rate_limit", "coagulation.dose", "hp_pump.drive_efficiency", "energy.tariff", "cip.pipe_diameter",
    "duty.train_product_flow", "water.temperature_cold", "antiscalant.dose", "storage.retention_time",
    "cip.pump_efficiency", "post_chlorination.demand",
)
FEW = {"harbour-town.toml": 10, "beach-well.toml": 4}


class Book(NamedTuple):
    """A record and what the spreadsheet program makes of its book."""

    record: dict[str, Any]
    places: Places
    sheets: dict[str, list[list[Any]]]
    order: dict[str, int]
    """Row of each line's state, from 0."""

    def numbers(self, id: str) -> list[Any]:
        """Values of a line as the book shows them."""
        sheet, row, column = self.places.at[id]
        n = len(self.places.lines[id]["keys"] or [None])
        return [self.sheets[sheet][row + i][column] for i in range(n)]

    def state(self, id: str, column: int) -> Any:
        """A cell of the line's state."""
        return self.sheets["State"][self.order[id]][column]

    def stale(self, id: str) -> bool:
        """Whether the line says that it can no longer be believed."""
        return bool(self.state(id, 4))


def close(got: Any, wanted: Any, scale: float) -> bool:
    if isinstance(wanted, str):
        return got == wanted
    return isinstance(got, (int, float)) and abs(got - wanted) <= SAME * max(scale, abs(wanted))


def many(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


@pytest.fixture(scope="module", params=PLANTS)
def books(request, program, tmp_path_factory):
    """The book without cached values, and one with each input moved, all through the spreadsheet program."""
    office, folder = program("soffice", "libreoffice"), tmp_path_factory.mktemp("book")
    design = api.read(paths.demo(request.param))
    plant = api.size(design)
    record = plant.record
    workbook(record, folder / "kept.xlsx")  # nothing follows by a curve here: each line is exact or stale
    places = Places(record)
    files, fresh = {folder / "bare.xlsx": {}}, {}
    for id in moves(record, FEW[request.param]):
        factor = 1.03
        try:
            with what_if({id: factor}):
                again = api.size(design).record
        except Problem:
            continue
        fresh[id] = again
        value = next(x["value"] for x in again["lines"] if x["id"] == id)
        files[folder / f"{len(files)}.xlsx"] = {places.name[id]: value}
    done = [values(p) for p in recalculated(office, bare(folder / "kept.xlsx", files), folder)]
    order = {id: 3 + n for n, id in enumerate(places.lines)}
    return Book(record, places, done[0], order), {
        id: (again, Book(record, places, sheets, order))
        for (id, again), sheets in zip(fresh.items(), done[1:], strict=True)}


def moves(record, few: int) -> list[str]:
    """Ten named inputs: of those wanted the ones this plant has, then others that many lines rest on."""
    lines = {x["id"]: x for x in record["lines"]}
    below = children(record["lines"])

    def usable(id: str) -> bool:
        x = lines.get(id)
        return bool(x and x["sort"] in ("given", "assumed") and isinstance(x["value"], float) and x["value"]
                    and x["kind"] != "count" and not x["because"])

    found = [id for id in MOVES if usable(id) and below.get(id)]
    others = sorted((id for id in lines if usable(id) and id not in found),
                    key=lambda id: (-len(descendants([id], below)), id))
    return (found + others[:: max(len(others) // 20, 1)])[:few]


def test_no_cell_is_an_error(books):
    base, after = books
    for book in (base, *(b for _, b in after.values())):
        wrong = [f"{sheet} row {n + 1}: {cell}" for sheet, rows in book.sheets.items() for n, row in enumerate(rows)
                 for cell in row if isinstance(cell, str) and cell.startswith(("#", "Err:"))]
        assert not wrong, wrong[:10]


def test_every_number_of_the_book_is_that_of_the_kit(books):
    base, _ = books
    count, wrong = 0, []
    for id, x in base.places.lines.items():
        if x["sort"] == "checked" or x["value"] is None:
            continue
        for got, wanted, scale in zip(base.numbers(id), many(x["value"]),
                                      scales(x, base.places.lines) or [0.0] * 99, strict=False):
            count += 1
            if not close(got, wanted, scale):
                wrong.append((id, wanted, got))
    assert count > 4000 and not wrong, wrong[:10]


def test_every_verdict(books):
    base, _ = books
    heads = base.sheets["Checks"][3]
    id, verdict = heads.index("Id"), heads.index("Verdict")
    shown = {row[id]: row[verdict] for row in base.sheets["Checks"][4:] if row[id]}
    said = {x["id"]: x["more"]["verdict"] for x in base.record["lines"] if x["sort"] == "checked"}
    assert len(said) > 40 and shown == said


def test_nothing_is_stale_at_writing(books):
    base, _ = books
    assert not [id for id in base.places.lines if base.stale(id) or base.state(id, 3)]
    assert all((base.state(id, 5) or 0) <= 1 for id in base.places.lines)
    assert sum(base.state(id, 5) is not None for id in base.places.lines) == sum(
        bool(x["more"].get("residual")) for x in base.record["lines"])


def test_a_line_that_does_not_say_stale_is_what_a_new_calculation_gives(books):
    """And below no engine, solution or changed pick every line is that, stale or not."""
    base, after = books
    below = children(base.record["lines"])
    assert len(after) >= 4
    for moved, (again, book) in after.items():
        fresh = {x["id"]: x for x in again["lines"]}
        fixed = [x["id"] for x in base.record["lines"] if x["sort"] in ("engine", "solved")
                 or (x["sort"] == "picked" and not Formulas.governs(x)
                     and x["value"] != fresh.get(x["id"], x)["value"])]
        far = set(fixed) | descendants(fixed, below)
        wrong, follow, differ = [], 0, 0
        for id, x in base.places.lines.items():
            new = fresh.get(id)
            if x["sort"] == "checked" or x["value"] is None:
                continue
            if new is None or new["keys"] != x["keys"]:
                assert book.stale(id), f"{moved}: {id} is another line, and does not say so"
                continue
            scale = scales(new, fresh) or [0.0]
            got = book.numbers(id)
            right = all(close(g, w, s) for g, w, s in zip(got, many(new["value"]), scale * len(got), strict=False))
            same = all(close(a, b, s) for a, b, s in zip(many(x["value"]), many(new["value"]), scale * len(got),
                                                         strict=False))
            if not same:
                differ += 1
                follow += right
            if not right and (not book.stale(id) or id not in far):
                wrong.append((id, x["sort"], new["value"], got, book.stale(id)))
        assert not wrong, (moved, len(wrong), wrong[:6])
        print(f"{moved}: {differ} lines move, {follow} of them live ({follow / max(differ, 1):.0%})")


def test_a_line_below_a_stale_one_is_calculated_from_the_value_shown(books):
    """The relation of the record, evaluated with the values of the book, gives the value of the book."""
    _, after = books
    for moved, (_, book) in after.items():
        lines = {}
        for id, x in book.places.lines.items():
            if x["sort"] != "checked" and x["value"] is not None:
                got = book.numbers(id)
                lines[id] = {**x, "value": got if x["keys"] is not None else got[0]}
        wrong = []
        for id, x in lines.items():
            if x["sort"] != "computed":
                continue
            # a remainder of two large numbers is measured by them
            near = [abs(v) for w in x["inputs"].values() for s, got in [value_at(lines, w)]
                    if s["unit"] == x["unit"] for v in many(got)]
            again = evaluated(x, lines, book.record["relations"])
            for got, wanted in zip(many(x["value"]), again, strict=True):
                if abs(got - wanted) > SAME * max(abs(wanted), *near, 1e-300):
                    wrong.append((id, wanted, got))
        assert not wrong, (moved, wrong[:6])


def test_the_residual_turns_when_an_input_moves(books):
    _, after = books
    turned = 0
    for moved, (_, book) in after.items():
        off = [x["id"] for x in book.record["lines"] if (book.state(x["id"], 5) or 0) > 1]
        turned += bool(off)
        assert all(book.stale(id) for id in off), moved
    assert turned >= 1


def test_the_cells_that_name_parents_are_known(books):
    base, _ = books
    assert all(p in base.places.lines for x in base.record["lines"] for p in parents(x))


def test_at_review_depth_it_prints_on_forty_pages(program, tmp_path):
    """And begins with the results; nothing is cut, for text is wrapped and rows are as high as it."""
    import subprocess

    reader = pytest.importorskip("pypdfium2")
    for name in PLANTS:
        path = api.size(api.read(paths.demo(name))).trail.workbook(tmp_path / "review.xlsx", depth="review")
        subprocess.run([program("soffice", "libreoffice"), f"-env:UserInstallation={(tmp_path / 'p').as_uri()}",
                        "--headless", "--convert-to", "pdf", "--outdir", str(tmp_path), str(path)],
                       check=True, capture_output=True, timeout=300)
        pages = reader.PdfDocument(path.with_suffix(".pdf"))
        words = [page.get_textpage().get_text_bounded() for page in pages]
        assert 15 < len(words) <= 40, (name, len(words))
        assert "Values that matter" in words[0] and "What does not pass" in words[0]
        assert any("Filters and cartridges" in w for w in words)
