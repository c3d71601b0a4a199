"""Pages as PDF, through chromium where it is there; the same bytes for the same page."""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

__all__ = ["printed", "program"]

_DATES = re.compile(rb"/(CreationDate|ModDate) ?\(D:[^)]*\)")
_NAMES = ("chromium", "chromium-browser")


def program() -> str:
    """Path of the browser that prints; empty where there is none."""
    return next((p for name in _NAMES if (p := shutil.which(name))), "")


def printed(pages: Sequence[Path]) -> list[Path]:
    """Print pages beside themselves; none where no browser is there, and HTML then prints as well.

    Parameters
    ----------
    pages : sequence of path
        HTML files.

    Returns
    -------
    list of path
        PDF files that were written.
    """
    browser = program()
    if not browser:
        return []
    by = _by_one if importlib.util.find_spec("playwright") is not None else _by_many
    made = by(browser, pages)
    for goal in made:
        goal.write_bytes(_undated(goal.read_bytes()))
    return made


def _by_one(browser: str, pages: Sequence[Path]) -> list[Path]:
    """All pages in one browser: a fifth of the time. In a process of its own, for a notebook has a loop running."""
    done = subprocess.run([sys.executable, "-m", "desalbook.pack.pdf", browser, *map(str, pages)], capture_output=True,
                          timeout=600, check=False)
    return [goal for page in pages if (goal := page.with_suffix(".pdf")).is_file()] if done.returncode == 0 else []


def main(browser: str, pages: Sequence[str]) -> None:
    """Print pages beside themselves, with the browser's driver."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        held = play.chromium.launch(executable_path=browser, args=["--no-sandbox", "--disable-gpu"])
        sheet = held.new_page()
        for page in map(Path, pages):
            sheet.goto(page.resolve().as_uri())
            sheet.pdf(path=str(page.with_suffix(".pdf")), prefer_css_page_size=True)
        held.close()


def _by_many(browser: str, pages: Sequence[Path]) -> list[Path]:
    """One run of the browser for each page."""
    made = []
    with tempfile.TemporaryDirectory() as profile:
        for page in pages:
            goal = page.with_suffix(".pdf")
            done = subprocess.run(
                [browser, "--headless", "--disable-gpu", "--no-sandbox", f"--user-data-dir={profile}",
                 "--no-pdf-header-footer", f"--print-to-pdf={goal.resolve()}", page.resolve().as_uri()],
                capture_output=True, timeout=120, check=False)
            if done.returncode == 0 and goal.is_file():
                made.append(goal)
    return made


def _undated(data: bytes) -> bytes:
    """Without the time of printing: as many letters, so that every place in the file stays true."""
    return _DATES.sub(lambda m: re.sub(rb"\d", b"0", m[0]), data)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
