"""One server and one browser for all tests in a browser; a notebook is opened, watched, run, and its kernel ended."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from desalbook.paths import hidden
from tests.outside import lab

SIZED = 60_000
"""Milliseconds; a machine may be slow and busy, and only what never comes costs so long."""


@dataclass
class Place:
    """Where the notebooks are served."""

    address: str
    shelf: Path
    browser: Any
    held: dict[Path, bytes] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.held = {p: p.read_bytes() for p in self._files()}

    def _files(self) -> list[Path]:
        return [p for p in self.shelf.rglob("*") if p.is_file()]

    def tidy(self) -> None:
        """As it was: what a test wrote goes, what it changed comes back, what was open is forgotten."""
        shutil.rmtree(self.shelf.parent / "jupyterlab_workspaces_dir")
        (self.shelf.parent / "jupyterlab_workspaces_dir").mkdir()
        for path in self._files():
            if path not in self.held:
                path.unlink()
            elif path.read_bytes() != self.held[path]:
                path.write_bytes(self.held[path])


@dataclass
class Opened:
    """A notebook in front, and what the console said."""

    page: Any
    name: str
    said: list[str] = field(default_factory=list)

    def quiet(self) -> None:
        """Nothing went wrong: in cells, in the console, in callbacks, tasks and threads of the kernel."""
        text = self.page.inner_text(lab.BOOK)
        assert "Traceback" not in text and self.page.locator("[data-mime-type*=stderr]").count() == 0, self.name
        assert not self.said, self.said
        assert not (wrong := lab.went_wrong(self.page)), wrong[0]


@pytest.fixture(scope="package")
def place(program: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """A server and a browser for all notebooks.

    They end with these tests: while the browser's driver is there, an event loop runs, and whatever asks for one,
    as the study's desk does to tell a kernel from a script, finds it.
    """
    chromium = program("chromium", "chromium-browser", "google-chrome")
    driver = pytest.importorskip("playwright.sync_api")
    folder = tmp_path_factory.mktemp("walk")
    with lab.server(folder) as address, driver.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium, args=list(lab.CHROMIUM))
        try:
            yield Place(address, folder / "shelf", browser)
        finally:
            browser.close()


@pytest.fixture
def opened(place: Place) -> Iterator[Callable[..., Opened]]:
    """A function that opens a notebook and runs all its cells; nobody has worked in the folder before."""
    (hidden(place.shelf / "notebooks") / "desk.json").unlink(missing_ok=True)
    books: list[Opened] = []

    def opening(name: str, width: int = 1280, height: int = 1600, **kwargs: Any) -> Opened:
        page = place.browser.new_page(viewport={"width": width, "height": height}, **kwargs)
        page.set_default_timeout(SIZED)
        book = Opened(page, name)
        books.append(book)
        page.on("pageerror", lambda e: book.said.append(f"{e}\n{getattr(e, 'stack', '')}"))
        page.on("console", lambda m: book.said.append(m.text) if m.type == "error" else None)
        lab.visit(page, place.address, name)
        lab.watch(page)
        page.evaluate(lab.RUN_ALL)
        return book

    yield opening
    for book in books:
        book.page.evaluate(lab.END_KERNEL)
        book.page.close()
    place.tidy()
