"""The page: nothing fetched, no injection, and in Chromium no findings by axe at any size."""

from __future__ import annotations

import dataclasses
import html
import html.parser
import json
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from sillway.show.draw.svg import safe
from sillway.show.sheet.content import fit_content
from sillway.show.sheet.fit_sheet import write_fit_sheet
from sillway.show.sheet.html import fit_page
from sillway.show.sheet.playback import playback

HOSTILE = [
    "<script>window.owned=1</script>",
    "</script><img src=x onerror='window.owned=1'>",
    "<!-- \" ' & -->",
    "M" * 80,
    "Zoë 🚐 李",
    "{{ 7*7 }} {% raw %}",
]


def page_of(case: Any) -> str:
    answer, van, rider = case
    return fit_page(fit_content(answer, van, rider), playback(answer, van))


class Elements(html.parser.HTMLParser):
    """Counts elements and gathers what they would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "srcset", "action", "style") or name.startswith("on"):
                self.fetched.append(f"{name}={value}")


def test_page_fetches_nothing(case: Any) -> None:
    page = page_of(case)
    found = Elements()
    found.feed(page)
    assert set(found.fetched) <= {"href=#main", "href=data:,"}
    assert "url(" not in page
    assert "@import" not in page


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_change_no_element(sample: Any, name: str) -> None:
    plain = Elements()
    plain.feed(page_of((sample.fits(), sample.van(), sample.rider())))
    answer = dataclasses.replace(sample.fits(), rider=name, van=name)
    hostile = Elements()
    page = page_of((answer, sample.van(make=name), sample.rider(name=name)))
    hostile.feed(page)
    # Where a seat or a check is named nothing changes, so the elements are the same ones.
    assert hostile.tags == plain.tags
    assert hostile.fetched == plain.fetched


def test_the_words_of_every_check_are_there(case: Any) -> None:
    answer = case[0]
    text = html.unescape(page_of(case).replace("<wbr>", ""))
    assert answer.checks
    for check in answer.checks:
        for words in (check.id, check.question, check.source, check.needed):
            assert words in text
    assert f">{str(answer.verdict).capitalize()}.<" in text


def test_served_style_and_script_are_linked_not_written_in(sample: Any) -> None:
    answer, van = sample.fits(), sample.van()
    page = fit_page(
        fit_content(answer, van, sample.rider()), playback(answer, van), style_href="/fit.css",
        script_src="/playback.js",
    )  # fmt: skip
    assert '<link rel="stylesheet" href="/fit.css">' in page
    assert '<script src="/playback.js" defer></script>' in page
    assert "<style>" not in page
    assert "addEventListener" not in page


def test_playback_frames_are_those_of_the_answer(sample: Any) -> None:
    answer, van = sample.fits(side_entry=True), sample.van(side_entry=True)
    roll = playback(answer, van)
    assert roll is not None
    frames = roll.data["frames"]
    assert len(frames) == len(answer.playback)
    scale = 40
    for row, frame in zip(frames, answer.playback, strict=True):
        x, y, _ = frame.pose
        assert row[0] * scale == pytest.approx(-y, abs=1)
        assert row[1] * scale == pytest.approx(-x, abs=1)
    assert roll.data["keys"][0] == 0
    assert roll.data["keys"][-1] == len(frames) - 1
    assert len(roll.data["keys"]) == 4
    json.dumps(roll.data)


def test_a_long_way_keeps_its_tightest_frames(sample: Any) -> None:
    answer, van = sample.fits(), sample.van()
    many = [
        dataclasses.replace(answer.playback[0], clearance_mm=30.0 + (i * 7919) % 101)
        for i in range(1000)
    ]
    many[517] = dataclasses.replace(many[517], clearance_mm=1.0)
    roll = playback(dataclasses.replace(answer, playback=tuple(many)), van)
    assert roll is not None
    assert len(roll.data["frames"]) <= 240
    assert "1/16 in (1 mm)" in [row[6] for row in roll.data["frames"]]


def test_no_playback_without_a_certificate(sample: Any) -> None:
    assert playback(sample.does_not_fit(), sample.van(side_entry=True)) is None


def test_written_whole_and_again(sample: Any, tmp_path: Path) -> None:
    answer, van, rider = sample.fits(), sample.van(), sample.rider()
    first = write_fit_sheet(answer, van, rider, tmp_path / "new" / "folder")
    bytes_before = [path.read_bytes() for path in first]
    second = write_fit_sheet(answer, van, rider, tmp_path / "new" / "folder")
    assert first == second
    assert [path.read_bytes() for path in second] == bytes_before
    assert sorted(p.name for p in first[0].parent.iterdir()) == [
        "fit-t-104-dana-rook.html", "fit-t-104-dana-rook.pdf",
    ]  # fmt: skip


def test_a_sheet_that_cannot_be_put_in_place_leaves_nothing(sample: Any, tmp_path: Path) -> None:
    (tmp_path / "fit-t-104-dana-rook.html").mkdir()
    with pytest.raises(OSError, match="fit-t-104-dana-rook"):
        write_fit_sheet(sample.fits(), sample.van(), sample.rider(), tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["fit-t-104-dana-rook.html"]


SIZES = {"phone": (360, 740), "desk": (1280, 900)}


def opened(browser: Browser, path: Path, case: Any, **context: Any) -> Page:
    file = path / "sheet.html"
    file.write_text(page_of(case), encoding="utf-8")
    page = browser.new_context(**context).new_page()
    page.goto(file.as_uri())
    return page


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_axe_finds_nothing(
    browser: Browser, tmp_path: Path, case: Any, size: str, scheme: Any
) -> None:
    width, height = SIZES[size]
    page = opened(
        browser, tmp_path, case, viewport={"width": width, "height": height}, color_scheme=scheme
    )
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.reload()
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert said == []
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= width
    page.context.close()


@pytest.mark.browser
def test_no_sideways_scroll_at_double_size(browser: Browser, tmp_path: Path, case: Any) -> None:
    # 200 % zoom of a 1280 px window lays out in 640 px.
    page = opened(browser, tmp_path, case, viewport={"width": 640, "height": 450})
    assert page.evaluate("document.documentElement.scrollWidth") <= 640
    page.context.close()


@pytest.mark.browser
@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_run_nothing(
    browser: Browser, tmp_path: Path, sample: Any, name: str
) -> None:
    answer = dataclasses.replace(sample.fits(), rider=name, van=name)
    case = (answer, sample.van(make=name), sample.rider(name=name))
    page = opened(browser, tmp_path, case, viewport={"width": 360, "height": 740})
    assert page.evaluate("window.owned") is None
    expect(page.locator("h1")).to_have_text(f"{safe(name)} in {safe(name)}")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    page.context.close()


@pytest.mark.browser
def test_labels_do_not_overlap_as_rendered(browser: Browser, tmp_path: Path, case: Any) -> None:
    page = opened(browser, tmp_path, case, viewport={"width": 1280, "height": 900})
    overlaps = page.evaluate(
        """() => [...document.querySelectorAll('figure svg')].flatMap(svg => {
          const texts = [...svg.querySelectorAll('text')].map(t => [t, t.getBoundingClientRect()]);
          const out = [];
          texts.forEach(([a, p], i) => texts.slice(i + 1).forEach(([b, q]) => {
            const w = Math.min(p.right, q.right) - Math.max(p.left, q.left);
            const h = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
            if (w > 2 && h > 6) out.push([a.textContent, b.textContent, w, h]);
          }));
          return out;
        })"""
    )
    assert overlaps == []
    page.context.close()


@pytest.mark.browser
def test_slider_moves_the_chair_and_its_number(
    browser: Browser, tmp_path: Path, sample: Any
) -> None:
    case = (sample.fits(side_entry=True), sample.van(side_entry=True), sample.rider())
    page = opened(browser, tmp_path, case, viewport={"width": 1280, "height": 900})
    slider, chair = page.locator("#roll-slider"), page.locator("#roll-plan")
    before = chair.get_attribute("transform")
    expect(page.locator("#roll-clearance")).to_have_text("1 1/8 in (29 mm)")
    slider.focus()
    page.keyboard.press("ArrowRight")
    assert chair.get_attribute("transform") != before
    expect(page.locator("#roll-clearance")).to_have_text("1 3/16 in (30 mm)")
    page.keyboard.press("End")
    last = len(case[0].playback)
    assert slider.get_attribute("aria-valuetext") is not None
    assert f"frame {last} of {last}" in str(slider.get_attribute("aria-valuetext"))
    assert "rotate(0)" in str(chair.get_attribute("transform"))
    page.context.close()


@pytest.mark.browser
def test_play_runs_to_the_end_and_can_be_paused(
    browser: Browser, tmp_path: Path, sample: Any
) -> None:
    case = (sample.fits(), sample.van(), sample.rider())
    page = opened(browser, tmp_path, case, viewport={"width": 1280, "height": 900})
    button, slider = page.locator("#roll-play"), page.locator("#roll-slider")
    button.click()
    expect(button).to_have_text("Pause")
    expect(slider).not_to_have_js_property("value", "0")
    slider.focus()
    page.keyboard.press("Space")
    expect(button).to_have_text("Play")
    page.keyboard.press("k")
    expect(button).to_have_text("Pause")
    expect(button).to_have_text("Play", timeout=15_000)
    expect(slider).to_have_js_property("value", str(len(case[0].playback) - 1))
    page.context.close()


@pytest.mark.browser
def test_reduced_motion_steps_from_key_to_key(
    browser: Browser, tmp_path: Path, sample: Any
) -> None:
    case = (sample.fits(side_entry=True), sample.van(side_entry=True), sample.rider())
    page = opened(
        browser, tmp_path, case, viewport={"width": 1280, "height": 900}, reduced_motion="reduce"
    )
    roll = playback(case[0], case[1])
    assert roll is not None
    page.evaluate(
        """() => { window.seen = [];
          new MutationObserver(() => window.seen.push(document.getElementById('roll-slider').value))
            .observe(document.getElementById('roll-plan'), {attributes: true}); }"""
    )
    page.locator("#roll-play").click()
    expect(page.locator("#roll-play")).to_have_text("Play", timeout=15_000)
    assert page.evaluate("window.seen") == [str(k) for k in roll.data["keys"][1:]]
    page.context.close()


@pytest.mark.browser
def test_without_script_the_key_frames_tell_the_way(
    browser: Browser, tmp_path: Path, sample: Any
) -> None:
    case = (sample.fits(side_entry=True), sample.van(side_entry=True), sample.rider())
    page = opened(
        browser, tmp_path, case, viewport={"width": 1280, "height": 900}, java_script_enabled=False
    )
    expect(page.locator("#roll")).to_be_hidden()
    expect(page.locator(".keys li")).to_have_count(4)
    expect(page.locator(".keys")).to_contain_text("Turn right on the spot by 90 degrees.")
    page.context.close()


@pytest.mark.browser
def test_skip_link_and_landmarks(browser: Browser, tmp_path: Path, case: Any) -> None:
    page = opened(browser, tmp_path, case, viewport={"width": 1280, "height": 900})
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    assert page.get_attribute("html", "lang") == "en"
    assert page.locator("main").count() == 1
    assert page.locator("table caption").count() == page.locator("table").count() > 0
    assert page.locator("thead th:not([scope=col]), tbody th:not([scope=row])").count() == 0
    page.context.close()
