"""The walk of somebody who has read README and nothing else, through labels and buttons alone.

A third train, another recovery device, what Watch then says is done, a file of one's own, the same file in
another notebook, the audit page exported and read. The same on the command line.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from desalbook.cli import main
from tests.outside import lab
from tests.outside.conftest import SIZED

pytestmark = pytest.mark.outside


class Text(HTMLParser):
    """What a person reads of a page."""

    def __init__(self, page: str):
        super().__init__()
        self.parts: list[str] = []
        self.silent = 0
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.silent += tag in ("style", "script")

    def handle_endtag(self, tag):
        self.silent -= tag in ("style", "script")

    def handle_data(self, data):
        if not self.silent:
            self.parts.append(data)

    @property
    def words(self) -> str:
        return " ".join(" ".join(self.parts).split())


@pytest.fixture(scope="module")
def place(place):
    """The server and the browser of all browser tests, and the folder of the notebooks."""
    return place.address, place.browser, place.shelf / "notebooks"


def begun(place):
    """The browser as `desalbook lab` leaves it: the start notebook open beside the list of files."""
    address, browser, _ = place
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    page.set_default_timeout(SIZED)
    lab.visit(page, address, "00-start", "lab")
    return page


def run(page, title: str):
    """The panel of the notebook in front, after Run All Cells from the menu."""
    front = page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)")
    front.get_by_role("heading", name=title).first.wait_for(timeout=60_000)
    idle = front.locator(".jp-Notebook-ExecutionIndicator[data-status=idle]")
    idle.wait_for(timeout=60_000)
    page.evaluate(lab.READY)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_text("Run All Cells", exact=True).click()
    front.locator(".jp-Notebook-ExecutionIndicator:not([data-status=idle])").wait_for()
    idle.wait_for(timeout=60_000)
    panel = front.locator(".db-panel").first
    for _ in range(60):  # running leaves a reader at the last cell: back up to the panel
        front.hover(position={"x": 300, "y": 400})
        page.mouse.wheel(0, -20_000)
        page.wait_for_timeout(500)
        if panel.get_by_text(re.compile(r"design [0-9a-f]{12}")).first.is_visible():
            break
    return panel


def next_notebook(page, name: str, title: str):
    """Open another notebook from the list of files and run it."""
    page.get_by_title(re.compile(f"^Name: {name}")).dblclick()
    return run(page, title)


def turn(panel, part: str, label: str, text: str) -> None:
    """Search a part of the design and write into the field of that label."""
    panel.get_by_role("textbox", name="Search the fields").fill(f"{part} {label}")
    panel.get_by_text(re.compile("fields? found")).wait_for()
    field = panel.get_by_role("textbox", name=label).first
    field.fill(text)
    field.press("Enter")


def watched(panel):
    return panel.get_by_role("list", name="Checks that do not pass").get_by_role("listitem")


def test_the_walk(place):
    folder: Path = place[2]
    page = begun(place)
    panel = run(page, "A seawater plant")
    line = panel.get_by_text("2 trains run")
    line.wait_for()
    assert watched(panel).filter(has_text="fails by").count() == 0

    # a third train: it is built, and the head says so
    turn(panel, "Duty", "Duty trains", "3")
    panel.get_by_text("3 trains run, 7 500".replace(" 500", "\N{THIN SPACE}500")).wait_for()

    # another recovery device: the picture and the energy follow
    panel.get_by_label("Energy recovery", exact=True).select_option(label="Hydraulic turbocharger")
    panel.locator("svg text", has_text="Turbocharger").first.wait_for()

    # checks fail; each says what to do, and its buttons lead to the control
    turn(panel, "Membrane", "RO recovery", "48 %")
    failing = watched(panel).filter(has_text=re.compile("fails (by|·)")).first
    failing.wait_for()
    turn(panel, "Membrane", "RO recovery", "42 %")
    failing.wait_for(state="detached")
    watched(panel).filter(has_text="before: fails").first.wait_for()

    # nothing can be exported that is not in a file
    panel.get_by_role("button", name="Export audit page").click()
    panel.get_by_role("alert").filter(has_text="Save it first").wait_for()

    panel.get_by_role("textbox", name="New file").fill("three-trains")
    panel.get_by_role("button", name="Save as", exact=True).click()
    panel.get_by_role("status").filter(has_text=re.compile(r"Saved in .*three-trains\.toml")).wait_for()
    assert (folder / "three-trains.toml").is_file()

    # Why is brought into view
    panel.get_by_role("button", name="Why Feed pressure").first.click()
    page.wait_for_function("() => document.activeElement?.querySelector?.('math')")
    top = page.evaluate("document.activeElement.getBoundingClientRect().top")
    assert 0 <= top < 1000

    # the same file in another notebook
    panel = next_notebook(page, "04-pressure-and-energy.ipynb", "Pressure and energy")
    panel.get_by_text("3 trains run").wait_for()  # the last file is remembered
    assert panel.get_by_label("Design file").input_value() == "three-trains.toml"
    assert panel.get_by_label("Energy recovery", exact=True).input_value() == "turbocharger"

    # at the reviewer's desk: opened, exported
    panel = next_notebook(page, "09-audit.ipynb", "Audit")
    panel.get_by_label("Design file").select_option(label="three-trains.toml")
    panel.get_by_role("button", name="Open", exact=True).click()
    panel.get_by_role("status").filter(has_text="Opened").wait_for()
    panel.get_by_text("no checks fail").wait_for()
    panel.get_by_role("textbox", name="Find").fill("duty trains")
    panel.get_by_role("textbox", name="Find").press("Enter")
    panel.get_by_role("button", name="duty.trains", exact=True).wait_for()
    panel.get_by_role("button", name="Export audit page").click()
    said = panel.get_by_role("status").filter(has_text="Audit page written to")
    said.wait_for()
    path = Path(said.inner_text().partition("written to ")[2].strip())
    assert path == folder.resolve() / "three-trains-audit.html"
    page.close()

    words = Text(path.read_text(encoding="utf-8")).words
    assert re.search(r"Duty trains.{0,60}\b3\b", words)
    assert re.search(r"Energy recovery.{0,60}(?:Hydraulic )?turbocharger", words)
    assert "2 trains" not in words


def test_the_same_on_the_command_line(tmp_path, monkeypatch, capsys):
    from desalbook import paths

    monkeypatch.chdir(tmp_path)
    text = paths.demo("harbour-town.toml").read_text(encoding="utf-8")
    assert text.count("trains = 2") == 1 and text.count('device = "isobaric"') == 1
    text = text.replace("trains = 2", "trains = 3").replace('device = "isobaric"', 'device = "turbocharger"')
    Path("my.toml").write_text(text, encoding="utf-8")
    assert text.count('recovery = "42 %"') == 1
    Path("my.toml").write_text(text.replace('"42 %"', '"48 %"'), encoding="utf-8")
    assert main(["check", "my.toml"]) == 1
    assert "membrane.recovery" in capsys.readouterr().out
    Path("my.toml").write_text(text, encoding="utf-8")
    assert main(["check", "my.toml"]) == 0
    assert main(["size", "my.toml", "--out", "results"]) == 0
    words = Text(Path("results/trail.html").read_text(encoding="utf-8")).words
    assert re.search(r"Duty trains.{0,60}\b3\b", words) and "urbocharger" in words
    assert main(["recompute", "results/trail.json"]) == 0
    assert main(["compare", str(paths.demo("harbour-town.toml")), "my.toml"]) == 0
    assert "Duty trains" in capsys.readouterr().out
