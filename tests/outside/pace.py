"""From a key on a slider to the last picture, in the browser; run by hand on a quiet machine.

``python -m tests.outside.pace 03-membranes:200 01-raw-water:20:4 01-raw-water:40:all`` moves the first slider of one
notebook two hundred times, the fifth of another twenty times, and all sliders of its first part in turn. A step on is
prefetched (`notebook/prefetch.py`); ``01-raw-water:20:0:PageUp`` leaps by a tenth of the range, to what is not.
A slider that is refused (a recovery beside a held pressure) is put back and left for the next one, and said so at the
end of the line. Each median is told as a multiple of the first of its key too: a machine shared by others is slow for
all alike. Aimed at: a step of 100 ms in the median, a leap of 200 ms, 400 ms for nineteen in twenty.
"""

from __future__ import annotations

import contextlib
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


def paced(page, index: str, count: int, key: str) -> tuple[dict[str, list[float]], list[str]]:
    """Milliseconds from the key to the last change, by slider; and the sliders that were refused.

    One slider, and the next where it is refused; or all in turn.
    """
    sliders = [one for one in page.locator(".db-turn input[type=range]").all() if one.is_visible() and one.is_enabled()]
    some = sliders if index == "all" else sliders[int(index):]
    if some:
        page.evaluate(_STAMP)
    found: dict[str, list[float]] = {}
    refused, n, warm = [], 0, 3  # the first ones find nothing warm
    while some and sum(map(len, found.values())) < count:
        slider = some[n % len(some) if index == "all" else 0]
        label = slider.get_attribute("aria-label") or "?"
        n += 1
        slider.focus()
        before = slider.input_value()
        at_end = slider.evaluate("e => Number(e.value) + Number(e.step) > Number(e.max)")
        page.keyboard.press("Home" if at_end else key)
        if slider.input_value() == before:  # a range of one value
            some.remove(slider)
            continue
        page.wait_for_function(_STILL, polling=100)  # at each frame it would itself keep the page busy
        took = page.evaluate("() => window.pace.to - window.pace.from")
        if slider.locator("xpath=..").locator("[role=alert]").inner_text().strip():
            page.get_by_role("button", name="Undo", exact=True).click()  # refused: nothing was drawn
            page.wait_for_timeout(1500)
            refused.append(label)
            some.remove(slider)
        elif warm:
            warm -= 1
        else:
            found.setdefault(label, []).append(took)
    return found, refused


def main(asked: list[str]) -> None:
    """Measure each notebook named, as ``name:count:slider:key``."""
    from playwright.sync_api import TimeoutError, sync_playwright

    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    with (tempfile.TemporaryDirectory() as folder, lab.server(Path(folder)) as address, sync_playwright() as play):
        browser = play.chromium.launch(executable_path=chromium, args=list(lab.CHROMIUM))
        first: dict[str, float] = {}  # median of the first notebook, by key
        for one in asked:
            name, count, index, key = [*one.split(":"), *("20", "0", "ArrowRight")[one.count(":"):]]
            page = browser.new_page(viewport={"width": 1280, "height": 1600})
            lab.visit(page, address, name)
            page.evaluate(lab.RUN_ALL)
            with contextlib.suppress(TimeoutError):  # a desk without sliders says so below
                page.wait_for_selector(".db-turn input[type=range]", timeout=60_000)
            page.wait_for_timeout(3000)
            by, refused = paced(page, index, int(count), key)
            ms = sorted(x for some in by.values() for x in some)
            said = f"; refused: {', '.join(refused)}" if refused else ""
            if ms:
                middle = statistics.median(ms)
                first.setdefault(key, middle)
                print(f"{name} ({', '.join(by)}; {key}): {len(ms)} changes, median {middle:.0f} ms "
                      f"({middle / first[key]:.2f} of the first), 95th percentile "
                      f"{ms[-(-len(ms) * 19 // 20) - 1]:.0f} ms, longest {ms[-1]:.0f} ms{said}", flush=True)
            else:
                print(f"{name}: no slider that could be moved{said}", flush=True)
            page.evaluate(lab.END_KERNEL)
            page.close()
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])
