"""From a key on a slider to the last picture, in the browser; run by hand on a quiet machine.

``python -m tests.outside.pace 03-membranes:200 01-raw-water:20:4 01-raw-water:40:all`` moves the first slider of one
notebook two hundred times, the fifth of another twenty times, and all sliders of its first part in turn. A step on is
prefetched (`notebook/prefetch.py`); ``01-raw-water:20:0:PageUp`` leaps by a tenth of the range, to what is not.
Aimed at: a median of 200 ms and 400 ms for nineteen in twenty.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from tests.outside import lab

# the time of the key, and of the frame after the last change of anything in the panel
_STAMP = """() => {
  window.pace = { from: null, to: null };
  const said = () => {
    if (window.pace.from !== null) requestAnimationFrame(() => { window.pace.to = performance.now(); });
  };
  new MutationObserver(said).observe(document.querySelector('.db-panel'),
    { subtree: true, childList: true, attributes: true, characterData: true });
  window.addEventListener('keydown', () => { window.pace = { from: performance.now(), to: null }; }, true);
}"""
_STILL = "() => window.pace.to !== null && performance.now() - window.pace.to > 1000"


def paced(page, index: str, count: int, key: str) -> list[float]:
    """Milliseconds of each change of one slider, or of all in turn, counted from the key."""
    sliders = [one for one in page.locator(".db-turn input[type=range]").all() if one.is_visible()]
    some = sliders if index == "all" else [sliders[int(index)]]
    page.evaluate(_STAMP)
    found, n = [], 0
    while len(found) < count + 3:
        slider = some[n % len(some)]
        n += 1
        slider.focus()
        at_end = slider.evaluate("e => Number(e.value) + Number(e.step) > Number(e.max)")
        page.keyboard.press("Home" if at_end else key)
        page.wait_for_function(_STILL, polling=100)  # at each frame it would itself keep the page busy
        took = page.evaluate("() => window.pace.to - window.pace.from")
        if refused := slider.locator("xpath=..").locator("[role=alert]").inner_text().strip():
            page.get_by_role("button", name="Undo", exact=True).click()  # refused: nothing was drawn
            page.wait_for_timeout(1500)
            some.remove(slider)
            assert some, f"refused: {refused}"
        else:
            found.append(took)
    return found[3:]  # the first ones find nothing warm


def main(asked: list[str]) -> None:
    """Measure each notebook named, as ``name:count:slider:key``."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    with (tempfile.TemporaryDirectory() as folder, lab.server(Path(folder)) as address, sync_playwright() as play):
        browser = play.chromium.launch(executable_path=chromium, args=list(lab.CHROMIUM))
        for one in asked:
            name, count, index, key = [*one.split(":"), *("20", "0", "ArrowRight")[one.count(":"):]]
            page = browser.new_page(viewport={"width": 1280, "height": 1600})
            lab.visit(page, address, name)
            page.evaluate(lab.RUN_ALL)
            page.wait_for_selector(".db-turn input[type=range]", timeout=60_000)
            page.wait_for_timeout(3000)
            label = "all sliders in turn" if index == "all" else page.locator(
                ".db-turn input[type=range]").nth(int(index)).get_attribute("aria-label")
            ms = sorted(paced(page, index, int(count), key))
            print(f"{name} ({label}, {key}): {len(ms)} changes, median {statistics.median(ms):.0f} ms, 95th percentile "
                  f"{ms[-(-len(ms) * 19 // 20) - 1]:.0f} ms, longest {ms[-1]:.0f} ms", flush=True)
            page.evaluate(lab.END_KERNEL)
            page.close()
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])
