"""The pages in a real browser: nothing breaks, nothing is fetched, the keyboard is enough."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import xarray as xr

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
AXE = Path(os.environ.get("EDGESIM_NODE_MODULES", "node_modules")) / "axe-core" / "axe.min.js"
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
WIDTHS = (1280, 360)

pytestmark = [
    pytest.mark.slow,
    pytest.mark.browser,
]


@pytest.mark.skipif("EDGESIM_TOOLS_REQUIRED" not in os.environ, reason="asked for by .ci/run only")
def test_where_the_tools_are_required_they_are_there():
    assert CHROMIUM
    assert AXE.exists()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    if CHROMIUM is None:
        pytest.skip("needs Chromium (Debian package chromium)")
    api = pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")
    with api.sync_playwright() as play:
        running = play.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield running
        running.close()


@pytest.fixture(scope="module")
def pages(whole_plan: Any) -> dict[str, Path]:
    return {name: whole_plan.folder / f"{name}.html" for name in ("plan", "view")}


class Opened:
    """A page at one width, with all that the browser complained of or asked for."""

    def __init__(self, browser: Any, path: Path, width: int) -> None:
        self.context = browser.new_context(
            viewport={"width": width, "height": 800}, bypass_csp=True
        )
        self.page = self.context.new_page()
        self.faults: list[str] = []
        self.requests: list[str] = []
        self.page.on("console", lambda message: self.faults.append(message.text))
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.goto(path.resolve().as_uri())


@pytest.fixture(params=WIDTHS)
def view(request: pytest.FixtureRequest, browser: Any, pages: dict[str, Path]) -> Iterator[Any]:
    opened = Opened(browser, pages["view"], request.param)
    yield opened.page
    assert opened.faults == []
    opened.context.close()


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["plan", "view"])
def test_the_page_opens_without_a_complaint_and_asks_for_nothing(
    browser: Any, pages: dict[str, Path], name: str, width: int
):
    opened = Opened(browser, pages[name], width)
    opened.page.wait_for_timeout(300)
    assert opened.faults == []
    assert opened.requests == [pages[name].resolve().as_uri()]
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width
    opened.context.close()


@pytest.mark.skipif(not AXE.exists(), reason=f"needs axe-core from npm at {AXE}")
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["plan", "view"])
def test_the_accessibility_checker_finds_no_serious_fault(
    browser: Any, pages: dict[str, Path], name: str, width: int
):
    opened = Opened(browser, pages[name], width)
    opened.page.evaluate(AXE.read_text(encoding="utf-8"))
    found = opened.page.evaluate("axe.run()")
    assert len(found["passes"]) > 10
    bad = [
        (fault["id"], [node["html"][:120] for node in fault["nodes"][:3]])
        for fault in found["violations"]
        if fault["impact"] in ("serious", "critical")
    ]
    assert bad == []
    opened.context.close()


def reading(page: Any) -> tuple[str, str, str, str]:
    """What the page says: time, place on the map, place in the section, and the table."""
    page.wait_for_timeout(250)
    names = ("when", "map-reading", "section-reading", "values")
    return tuple(page.inner_text(f"#{name}") for name in names)  # type: ignore[return-value]


def test_arrow_keys_move_time_and_every_reading(view: Any):
    before = reading(view)
    view.focus("#time")
    view.keyboard.press("ArrowLeft")
    after = reading(view)
    assert all(old != new for old, new in zip(before, after, strict=True))
    view.keyboard.press("Home")
    assert reading(view)[0].startswith("year 0.00, 1 January 2027")
    assert view.get_attribute("#time", "aria-valuetext").startswith("year 0.00")


def test_switching_the_option_changes_what_is_read(view: Any):
    before = reading(view)
    assert "walls and reef" in before[1]
    view.focus('input[name="option"]:checked')
    view.keyboard.press("ArrowUp")
    after = reading(view)
    assert "reef only" in after[1]
    assert before[3] != after[3]
    assert "Fill left in the walls" not in after[3]


def test_one_future_can_be_shown_alone(view: Any):
    assert "half of the futures" in reading(view)[1]
    view.focus("#member")
    view.keyboard.press("ArrowDown")
    _, on_map, in_section, table = reading(view)
    assert "future 1 alone" in on_map
    assert "half of the futures" not in on_map + in_section
    assert "This future" in table


def test_other_options_can_be_hidden(view: Any):
    count = "document.querySelectorAll('#map polyline').length"
    before = view.evaluate(count)
    view.focus("#others")
    view.keyboard.press("Space")
    assert view.evaluate(count) == before - 3


def test_places_are_read_by_keyboard_and_by_pointing(view: Any):
    before = reading(view)
    view.focus("#along")
    view.keyboard.press("ArrowRight")
    view.focus("#across")
    view.keyboard.press("ArrowRight")
    after = reading(view)
    assert before[1] != after[1]
    assert before[2] != after[2]
    view.locator("#map").scroll_into_view_if_needed()
    box = view.locator("#map svg").bounding_box()
    view.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 0.5 * box["height"])
    assert reading(view)[1] != after[1]


def test_what_is_read_is_what_the_forecast_holds(view: Any, synthetic_dataset: xr.Dataset):
    retreat = synthetic_dataset["retreat"].sel(option="walls and reef").values[:, -1]
    low, high = synthetic_dataset["retreat"].quantile(
        [0.05, 0.95], "member"
    ).sel(option="walls and reef").values[:, -1]  # fmt: skip
    row = view.locator("#values tbody tr", has_text="Retreat behind the design (m)")
    cells = row.locator("td").all_inner_texts()
    assert float(cells[0]) == pytest.approx(
        float(sorted(retreat)[19] + sorted(retreat)[20]) / 2, abs=0.006
    )
    assert [float(word) for word in cells[2].split(" to ")] == pytest.approx([low, high], abs=0.006)


def test_every_control_is_reached_by_the_keyboard_and_shows_it(view: Any):
    seen = []
    for _ in range(14):
        view.keyboard.press("Tab")
        seen.append(
            view.evaluate(
                "[document.activeElement.id || document.activeElement.name || document.activeElement.className,"
                " getComputedStyle(document.activeElement).outlineStyle]"
            )
        )
    names = [name for name, _ in seen]
    assert names[0] == "skip"
    for wanted in ("option", "member", "others", "time", "along", "across"):
        assert wanted in names
    assert all(outline != "none" for name, outline in seen if name and name != "body")


def test_the_plan_is_walked_by_the_keyboard(browser: Any, pages: dict[str, Path]):
    opened = Opened(browser, pages["plan"], 360)
    page = opened.page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    for _ in range(200):  # the lists of contents come first
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.getAttribute('role')") == "region":
            break
    else:
        pytest.fail("no figure or table was reached")
    opened.context.close()


def test_paper_has_pages_and_cautions_on_the_first(
    browser: Any, pages: dict[str, Path], tmp_path: Path
):
    opened = Opened(browser, pages["plan"], 1280)
    target = tmp_path / "plan.pdf"
    opened.page.pdf(path=str(target), prefer_css_page_size=True)
    assert target.read_bytes().startswith(b"%PDF")
    assert target.stat().st_size > 50_000
    opened.context.close()
