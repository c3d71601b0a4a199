"""What is asked of every page of ours: accessibility rules, names, text alternatives, room, contrast."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.outside import lab

OURS = ".db-panel, .db-desk, .db-calc"
_SERIOUS = {"serious", "critical"}
DARK = "window.jupyterapp.commands.execute('apputils:change-theme', {theme: 'JupyterLab Dark'})"
LIGHT = DARK.replace("Dark", "Light")
_NAMELESS = """(where) => {
  const named = (e) => e.getAttribute('aria-label') || e.getAttribute('aria-labelledby')
    || (e.labels && e.labels.length && e.labels[0].textContent.trim()) || (e.matches('button,summary,a')
    && e.textContent.trim());
  const alternative = (s) => s.closest('[aria-hidden=true]') || s.getAttribute('aria-label')
    || s.getAttribute('aria-labelledby') || s.querySelector(':scope > title');
  const out = [];
  for (const box of document.querySelectorAll(where)) {
    for (const e of box.querySelectorAll('input,select,textarea,button,summary,a,[tabindex="0"]'))
      if (e.offsetParent !== null && !named(e)) out.push(e.outerHTML.slice(0, 120));
    for (const s of box.querySelectorAll('svg:not(svg svg)')) {
      if (!alternative(s)) out.push('no text alternative: ' + s.outerHTML.slice(0, 120));
      else if (!s.closest('[aria-hidden=true]') && s.getAttribute('role') !== 'img'
               && s.getAttribute('role') !== 'group') out.push('no role: ' + s.outerHTML.slice(0, 120));
    }
  }
  return out;
}"""
_FAINT = """(where) => {
  const parts = (c) => { const m = c.match(/[\\d.]+/g).map(Number); return [m[0], m[1], m[2], m[3] ?? 1]; };
  const over = (a, b) => [0, 1, 2].map(i => a[i] * a[3] + b[i] * (1 - a[3])).concat(1);
  const ground = (e) => { const found = [];
    for (let p = e; p; p = p.parentElement) { const c = parts(getComputedStyle(p).backgroundColor);
      if (c[3] > 0) found.unshift(c); if (c[3] === 1) break; }
    return found.reduce((below, c) => over(c, below), [255, 255, 255, 1]); };
  const light = (c) => { const [r, g, b] = c.map(v => { v /= 255;
    return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const out = []; let seen = 0;
  for (const box of document.querySelectorAll(where)) {
    const texts = document.createTreeWalker(box, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
      const e = texts.currentNode.parentElement, s = getComputedStyle(e);
      if (!texts.currentNode.data.trim() || e.closest('style, title, desc, option, :disabled, datalist')) continue;
      if (s.visibility !== 'visible' || !e.getClientRects().length) continue;
      const drawn = e.closest('svg') !== null, behind = ground(drawn ? e.closest('svg').parentElement : e);
      const paint = drawn ? s.fill : s.color;
      if (!paint.startsWith('rgb')) continue;
      let faint = 1; for (let p = e; p !== box; p = p.parentElement) faint *= parseFloat(getComputedStyle(p).opacity);
      const ink = parts(paint); ink[3] *= faint;
      const [a, b] = [light(over(ink, behind)), light(behind)];
      const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
      seen += 1;
      if (ratio < 4.5) out.push(`contrast ${ratio.toFixed(2)}: ${paint} on ${behind.slice(0, 3)
        .map(Math.round)}: ${texts.currentNode.data.trim().slice(0, 60)}`);
    }
  }
  return [out, seen];
}"""
_PLACES = """() => { const p = document.querySelector('.db-panel').getBoundingClientRect();
  return ['.db-panel svg', '.db-panel dl.db-key', '.db-panel .db-turn', '.db-panel figure']
    .map(w => document.querySelector(w)).filter(e => e).map(e => { const r = e.getBoundingClientRect();
      return [r.left - p.left, r.top - p.top, r.width].map(Math.round); }); }"""
_WIDE = """(where) => {
  const out = [];
  for (const box of document.querySelectorAll(where)) {
    const end = box.getBoundingClientRect().right + 1;
    const seen = (e) => { for (let p = e.parentElement; p && p !== box; p = p.parentElement)
      if (['auto', 'scroll', 'hidden'].includes(getComputedStyle(p).overflowX)) return false; return true; };
    for (const e of box.querySelectorAll('*'))
      if (!e.closest('svg svg, svg *') && e.offsetParent !== null && e.getBoundingClientRect().right > end && seen(e))
        out.push(`${e.tagName} ${e.className} ends ${Math.round(e.getBoundingClientRect().right - end)} px beyond`);
  }
  const page = document.querySelector('.jp-WindowedPanel-outer, .jp-Notebook');
  if (page.scrollWidth > page.clientWidth + 1) out.push(`the notebook scrolls sideways, ${page.scrollWidth}`);
  return out;
}"""


def serious(page: Any) -> list[str]:
    """What the accessibility rules find in our own widgets, if it is serious."""
    if not page.evaluate("() => Boolean(window.axe)"):
        import axe_playwright_python

        page.evaluate((Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate(
        "async (where) => { const r = await axe.run({include: where.split(', ').filter(w => document.querySelector(w))"
        ".map(w => [w])}); return [r.violations, r.passes.length]; }", OURS)
    assert found[1] > 10  # the rules were applied to something
    return [f"{v['id']}: {n['html'][:120]}" for v in found[0] if v["impact"] in _SERIOUS for n in v["nodes"]]


def faint(page: Any) -> list[str]:
    """Text with less than 4.5 : 1 against what lies behind it (WCAG 2.2, 1.4.3; its formula of relative luminance).

    The accessibility rules pass over most text here, for they take what JupyterLab contains in cells for hidden.
    Text drawn over a shape of a picture is judged against the ground of the picture.
    """
    found, seen = page.evaluate(_FAINT, OURS)
    assert seen > 20, seen  # there was text to be judged
    return found


def in_both_themes(page: Any) -> list[str]:
    """The same on a light and on a dark ground."""
    found = serious(page) + faint(page)
    page.evaluate(DARK)
    page.wait_for_selector("body[data-jp-theme-light=false]", state="attached")
    found += [f"dark, {x}" for x in serious(page) + faint(page)]
    page.evaluate(LIGHT)
    page.wait_for_selector("body[data-jp-theme-light=true]", state="attached")
    return found


def nameless(page: Any) -> list[str]:
    """Controls without a name and pictures without a text alternative."""
    return page.evaluate(_NAMELESS, OURS)


def settled(page: Any) -> None:
    """Wait until the panel is laid out and drawn for the width it is shown at."""
    page.evaluate("() => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))")
    lab.in_kernel(page, "")
    page.wait_for_function("() => document.querySelector('.db-panel [data-drawing]') === null")


def places(page: Any) -> list[list[int]]:
    """Left, top and width of the pictures, the figures and the controls within the panel, pixels.

    A picture asks to be laid out for the width it is shown at; the kernel has answered that first.
    """
    settled(page)
    # what is sticky stands elsewhere in a panel that is scrolled
    page.evaluate("() => document.querySelector('.db-panel').scrollIntoView({block: 'start'})")
    return page.evaluate(_PLACES)


def moved(was: list[list[int]], now: list[list[int]]) -> bool:
    """Whether anything stands elsewhere; a pixel is rounding."""
    return len(was) != len(now) or any(abs(a - b) > 1 for x, y in zip(was, now, strict=True)
                                       for a, b in zip(x, y, strict=True))


def cut(page: Any) -> int:
    """Pixels by which the figures that follow reach beyond their column, where nobody sees them."""
    return page.evaluate("() => Math.max(...[...document.querySelectorAll('.db-panel dl.db-key')]"
                         ".map(e => e.scrollWidth - e.clientWidth))")


def too_wide(page: Any, width: int) -> list[str]:
    """What reaches beyond its panel, or makes the notebook scroll sideways, in a window that wide."""
    was = page.viewport_size
    page.set_viewport_size({"width": width, "height": was["height"]})
    page.wait_for_function("w => window.innerWidth === w", arg=width)
    page.evaluate("() => new Promise(r => requestAnimationFrame(() => requestAnimationFrame(r)))")
    found = page.evaluate(_WIDE, OURS)
    page.set_viewport_size(was)
    return found
