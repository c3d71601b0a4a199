"""Pages as PDF, through chromium where it is there; the same bytes for the same page."""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

__all__ = ["printed", "program"]

_DATES = re.compile(rb"/(CreationDate|ModDate) ?\(D:[^)]*\)")
_NAMES = ("chromium", "chromium-browser")


def program() -> str:
    """Path of the browser that prints; empty where there is none."""
    found = next((p for name in _NAMES if (p := shutil.which(name))), "")
    if found or importlib.util.find_spec("playwright") is None:
        return found
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        path = Path(play.chromium.executable_path)
    return str(path) if path.exists() else ""


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
    browser, made = program(), []
    if not browser:
        return []
    with tempfile.TemporaryDirectory() as profile:
        for page in pages:
            goal = page.with_suffix(".pdf")
            done = subprocess.run(
                [browser, "--headless", "--disable-gpu", "--no-sandbox", f"--user-data-dir={profile}",
                 "--no-pdf-header-footer", f"--print-to-pdf={goal.resolve()}", page.resolve().as_uri()],
                capture_output=True, timeout=120, check=False)
            if done.returncode == 0 and goal.is_file():
                goal.write_bytes(_undated(goal.read_bytes()))
                made.append(goal)
    return made


def _undated(data: bytes) -> bytes:
    """Without the time of printing: as many letters, so that every place in the file stays true."""
    return _DATES.sub(lambda m: re.sub(rb"\d", b"0", m[0]), data)
