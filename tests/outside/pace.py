"""From a key on a slider to the last picture, in the browser; run by hand on a quiet machine.

``python -m tests.outside.pace 03-membranes:200 01-raw-water:20:4`` moves the first slider of one notebook two hundred
times and the fifth of another twenty times. The acceptance is a median of 200 ms and 400 ms for nineteen in twenty.
"""

from __future__ import annotations

import re
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from tests.outside import lab

# the time of the key, and of the frame after the last change of anything in the panel
_STAMP = """() => {
  window.pace = { from: null, to: null, drawn: 0 };
  const said = (m) => {
    if (window.pace.from === null) return;
    if (m.some(x => (x.target.closest ? x.target : x.target.parentElement)?.closest('svg, figure, .db-picture')
        || [...x.addedNodes].some(n => n.querySelector?.('svg') || n.tagName === 'svg'))) window.pace.drawn += 1;
    requestAnimationFrame(() => { window.pace.to = performance.now(); });
  };
  new MutationObserver(said).observe(document.querySelector('.db-panel'),
    { subtree: true, childList: true, attributes: true, characterData: true });
  window.addEventListener('keydown', () => { window.pace = { from: performance.now(), to: null, drawn: 0 }; }, true);
}"""
_STILL = "() => window.pace.drawn > 0 && performance.now() - window.pace.to > 500"


def paced(page, index: int, count: int) -> list[float]:
    """Milliseconds of each change of one slider, counted from the key."""
    slider = page.locator(".db-turn input[type=range]").nth(index)
    slider.focus()
    page.evaluate(_STAMP)
    found = []
    for _ in range(count + 3):
        at_end = slider.evaluate("e => Number(e.value) + Number(e.step) > Number(e.max)")
        page.keyboard.press("Home" if at_end else "ArrowRight")
        page.wait_for_function(_STILL, polling=100)  # at each frame it would itself keep the page busy
        found.append(page.evaluate("() => window.pace.to - window.pace.from"))
    return found[3:]  # the first ones find nothing warm


def main(asked: list[str]) -> None:
    """Measure each notebook named, as ``name:count:slider``."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    with (tempfile.TemporaryDirectory() as folder, lab.server(Path(folder)) as address, sync_playwright() as play):
        browser = play.chromium.launch(executable_path=chromium, args=list(lab.CHROMIUM))
        for one in asked:
            name, count, index = ([*one.split(":"), "20", "0"] if one.count(":") == 0 else
                                  [*one.split(":"), "0"])[:3]
            page = browser.new_page(viewport={"width": 1280, "height": 1600})
            page.route(re.compile(r"^https?://(?!127\.0\.0\.1)"), lambda route: route.abort())
            page.goto(f"{address}/doc/tree/notebooks/{name}.ipynb?token={lab.TOKEN}")
            page.wait_for_selector(f"{lab.BOOK} .jp-Cell", timeout=30_000)
            page.evaluate(lab.RUN_ALL)
            page.wait_for_selector(".db-turn input[type=range]", timeout=60_000)
            page.wait_for_timeout(3000)
            label = page.locator(".db-turn input[type=range]").nth(int(index)).get_attribute("aria-label")
            ms = sorted(paced(page, int(index), int(count)))
            print(f"{name} ({label}): {len(ms)} changes, median {statistics.median(ms):.0f} ms, 95th percentile "
                  f"{ms[-(-len(ms) * 19 // 20) - 1]:.0f} ms, longest {ms[-1]:.0f} ms", flush=True)
            page.evaluate(lab.END_KERNEL)
            page.close()
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])
