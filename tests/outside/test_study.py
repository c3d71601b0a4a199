"""A long study in a real browser: it is seen to move, it stops when told, and what was done stays."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest

from tests.outside import lab, looks
from tests.outside.conftest import SIZED

pytestmark = pytest.mark.outside
BAR = ".db-study progress"
ROWS = ".db-study.wide tbody tr"


def test_a_study_moves_stops_and_keeps_its_rows(opened):
    book = opened("08-studies")
    page = book.page
    end = page.locator(".db-study [role=status]")
    box = page.locator(".db-desk")
    box.get_by_text("No study yet").wait_for()  # nothing runs before it is asked for
    box.get_by_role("button", name="Run", exact=True).click()
    page.wait_for_function("() => /done, 16 of 16/.test(document.querySelector('.db-study [role=status]')?.innerText)",
                           timeout=SIZED)
    rows = page.locator(ROWS)
    lab.until(page, rows.count, 16)

    # what cannot be read is said beside its field, and nothing runs
    low, count = (box.get_by_role("textbox", name=n) for n in ("From, with its unit", "Number of values"))
    low.fill("a lot")
    low.press("Enter")
    page.wait_for_selector(".db-desk .db-wrong:has-text('a lot')")
    box.get_by_role("button", name="Run", exact=True).click()
    page.wait_for_selector(".db-study [role=status]:has-text('Not run')")
    assert low.input_value() == "a lot" and rows.count() == 16

    # a long one: progress moves, the desk still answers, Cancel is heard
    low.fill("36 %")
    low.press("Enter")
    count.fill("120")
    count.press("Enter")
    page.wait_for_function("() => ![...document.querySelectorAll('.db-desk .db-wrong')].some(e => e.innerText)")
    run = box.get_by_role("button", name="Run", exact=True)
    run.focus()
    page.keyboard.press("Enter")
    page.wait_for_function(f"() => (b => b.max === 120 && b.value >= 2)(document.querySelector('{BAR}'))",
                           timeout=SIZED)
    first = page.evaluate(f"() => document.querySelector('{BAR}').value")
    lab.until(page, lambda: bool(re.fullmatch(r"\d+ of 120, \d+ s left", page.inner_text(".db-study .db-count"))))
    assert page.get_by_role("progressbar", name="Progress of the study").is_visible()
    page.wait_for_function(f"w => document.querySelector('{BAR}').value > w", arg=first, timeout=SIZED)
    box.get_by_role("button", name=re.compile("Draw .*nergy")).first.click()
    page.wait_for_selector(".db-desk figcaption:has-text('nergy')")
    assert not (found := looks.serious(page)), found[:5]  # while it runs
    assert page.evaluate("() => document.activeElement.innerText") != "Run"
    cancel = box.get_by_role("button", name="Cancel", exact=True)
    cancel.focus()
    page.keyboard.press("Enter")
    page.wait_for_function("() => /cancelled after/.test(document.querySelector('.db-study [role=status]').innerText)",
                           timeout=SIZED)
    done = int(re.fullmatch(r"cancelled after (\d+) of 120", end.inner_text())[1])
    assert 3 <= done < 120
    lab.until(page, rows.count, done)
    for _ in range(3):  # the kernel is asked and answers three times over, and nothing runs on
        lab.in_kernel(page, "import time; time.sleep(0.2)")
    assert rows.count() == done and not page.locator(BAR).is_visible()

    # table and picture are carried away
    with page.expect_download() as table:
        box.get_by_role("button", name="Download table").click()
    kept = list(csv.DictReader(io.StringIO(Path(table.value.path()).read_text(encoding="utf-8"))))
    assert len(kept) == done and kept[0]["id"] == "membrane.recovery=36 %"
    with page.expect_download() as drawn:
        box.get_by_role("button", name="Download picture").click()
    svg = Path(drawn.value.path()).read_text(encoding="utf-8")
    assert svg.startswith("<svg") and "var(--" not in svg

    # another file, a choice, and a second key
    box.get_by_label("Design file").select_option(label="beach-well (demo)")
    box.get_by_role("button", name="Open", exact=True).click()
    box.get_by_text("beach-well.toml").wait_for()
    box.get_by_label("Section").first.select_option(label="Energy recovery")
    box.get_by_label("Choices").first.select_option(index=[0, 1])
    run.click()
    page.wait_for_function("() => /done, 2 of 2/.test(document.querySelector('.db-study [role=status]').innerText)",
                           timeout=SIZED)
    lab.until(page, rows.count, 2)
    assert box.locator("figcaption").inner_text().count("nergy") >= 1

    assert not (found := looks.in_both_themes(page)), found[:5]
    assert not (found := looks.nameless(page)), found[:5]
    assert not (found := looks.too_wide(page, 900)), found[:5]
    book.quiet()
