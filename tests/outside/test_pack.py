"""Packs of both demo plants in a browser: nothing beyond the paper, no text on text, PDF the same twice."""

from __future__ import annotations

import pypdfium2
import pytest

from desalbook.pack import write_pack
from desalbook.pack.pdf import printed
from tests import shared

pytestmark = [pytest.mark.full, pytest.mark.outside]


@pytest.fixture
def chromium_page(place):
    """A page of the browser that all these tests share."""
    page = place.browser.new_page()
    yield page
    page.close()


BEYOND = """() => {
  const main = document.querySelector('main').getBoundingClientRect();
  const out = [];
  for (const e of document.querySelectorAll('main table, main td, main th, main p, main li, main svg, main h2')) {
    const r = e.getBoundingClientRect();
    if (r.right > main.right + 1 || r.left < main.left - 1) out.push('beyond: ' + e.textContent.slice(0, 60));
    if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0) out.push('clipped: ' + e.textContent.slice(0, 60));
  }
  for (const svg of document.querySelectorAll('main svg')) {
    const box = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll('text')].map(t => [t.getBoundingClientRect(), t.textContent])
      .filter(([r]) => r.width > 0);
    texts.forEach(([a, one], n) => {
      if (a.right > box.right + 1 || a.left < box.left - 1 || a.bottom > box.bottom + 1) out.push('out: ' + one);
      if (!svg.closest('.pressure-picture')) return;
      texts.slice(n + 1).forEach(([b, other]) => {
        const over = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const deep = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        if (over > 1 && deep > 0.35 * Math.min(a.height, b.height)) out.push('on: ' + one + ' | ' + other);
      });
    });
  }
  return out; }"""


@pytest.mark.parametrize(("demo", "units"), (("harbour-town.toml", "si"), ("beach-well.toml", "us")))
def test_every_page_holds_what_is_on_it(demo, units, tmp_path, chromium_page):
    made = write_pack(shared.plant(demo), tmp_path / "pack", units, pdf=False)
    # between the margins, at 96 to the inch
    width = {"si": (1123 - 132, 794 - 132), "us": (1056 - 132, 816 - 132)}[units]
    found = {}
    for file in made.files:
        if file.endswith(".html") and "601-" not in file:  # the calculation has sheets and a test of its own
            wide = "landscape" in (tmp_path / "pack" / file).read_text(encoding="utf-8")[:2000]
            chromium_page.set_viewport_size({"width": width[0 if wide else 1], "height": 900})
            chromium_page.emulate_media(media="print")
            chromium_page.goto((tmp_path / "pack" / file).as_uri())
            if said := chromium_page.evaluate(BEYOND):
                found[file] = said[:4]
    assert not found


def test_a_printed_pack_is_the_same_twice(tmp_path):
    for name in ("one", "two"):
        write_pack(shared.plant(), tmp_path / name, only=("spares", "line-diagram"))
    one, two = ({p.name: p.read_bytes() for p in (tmp_path / name).rglob("*.pdf")} for name in ("one", "two"))
    assert len(one) == 3 and one == two


def test_paper_and_pages(tmp_path):
    """A4 and Letter, portrait and landscape, each page numbered."""
    plant = shared.plant()
    for units, paper, size in (("si", None, (842, 595)), ("us", None, (792, 612))):
        made = write_pack(plant, tmp_path / f"{units}{paper}", units, paper, only=("spares",))
        pdf = pypdfium2.PdfDocument(made.folder / "documents" / "407-spares.pdf")
        assert [round(x) for x in pdf[0].get_size()] == list(size)
        said = [page.get_textpage().get_text_range() for page in pdf]
        assert all(f"page {n + 1} of {len(said)}" in text for n, text in enumerate(said))
        assert "Spares and consumables" in said[0] and "for review" in said[-1]


def test_without_a_browser_pages_are_all_there_is(tmp_path, monkeypatch):
    monkeypatch.setattr("desalbook.pack.pdf.program", lambda: "")
    assert printed([tmp_path / "x.html"]) == []
