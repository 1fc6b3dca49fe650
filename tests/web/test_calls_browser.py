"""Real Chromium: a call by keyboard alone, a match, the page of a pair with its playback."""

import re
import socket
import subprocess
import sys
import time

import pytest
from axe_playwright_python.sync_playwright import Axe
from django_otp.oath import TOTP
from playwright.sync_api import expect

from workbench_help import in_lot, lot_env

pytestmark = pytest.mark.browser
PASSWORD = "a sentence of four words"
# Starting takes long where many tests run at once.
START_S = 120
WORK_MS = 300_000
SERVE = "import sys; from sillway.web.serve import main; sys.exit(main(sys.argv[1:]))"
# Dunlin and Wren are ruled out by the header at once; Marit rides in the Stork.
MAKE = """
import json
from workbench_help import ROOT
from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.pack import Content
from sillway.store.records import create_record
from sillway.web.accounts.models import Account
from django_otp.plugins.otp_totp.models import TOTPDevice
ana = By("Ana", "page", None)
def doc(kind, stem):
    return json.loads((ROOT / "demo" / f"{kind}s" / f"{stem}.json").read_text("utf-8"))
for stem in ("dunlin", "wren", "stork"):
    create_record("van", Content(doc("van", stem), {"stage": "for sale"}), ana)
create_record("rider", Content(doc("rider", "anselm"), {"stage": "waiting"}), ana)
create_record("rider", Content(doc("rider", "marit"), {"stage": "waiting"}), ana)
one = Account(name="Sue", role="seller", made_at=now())
one.set_password("a sentence of four words")
one.save()
device = TOTPDevice.objects.create(user=one, name="app", confirmed=True)
print(device.bin_key.hex())
"""


@pytest.fixture(scope="module")
def lot(tmp_path_factory):
    """A lot that is served; answers its address and the seller's key of the second factor."""
    data = tmp_path_factory.mktemp("calls") / "lot"
    key = bytes.fromhex(in_lot(data, MAKE).split()[-1])
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    log = data.parent / "log"
    with log.open("w") as out:
        server = subprocess.Popen(
            [sys.executable, "-c", SERVE, "serve", "--data", str(data), "--port", str(port)],
            env=lot_env(data), stdout=out, stderr=subprocess.STDOUT,
        )  # fmt: skip
    end = time.monotonic() + START_S
    while True:
        assert server.poll() is None, log.read_text()
        assert time.monotonic() < end, log.read_text()
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            break
        except OSError:
            time.sleep(0.2)
    yield f"http://127.0.0.1:{port}", key
    server.terminate()
    assert server.wait(60) == 0
    assert "Traceback" not in log.read_text()


@pytest.fixture(scope="module")
def seller(lot, browser):
    """Sue, signed in with both factors: what her browser keeps."""
    base, key = lot
    context = browser.new_context(base_url=base)
    page = context.new_page()
    page.goto("/")
    page.get_by_label("Name").fill("Sue")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_label("Code").fill(f"{TOTP(key).token():06d}")
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The lot")
    state = context.storage_state()
    context.close()
    return state


@pytest.fixture
def desk(lot, seller, browser):
    """Opens pages as Sue, and fails on any complaint of the browser."""
    contexts, said = [], []

    def open_page(**how):
        context = browser.new_context(base_url=lot[0], storage_state=seller, **how)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: said.append(f"{page.url}: {message.text}"))
        page.on("pageerror", lambda error: said.append(f"{page.url}: {error}"))
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert said == []


def focused(page):
    return page.evaluate("() => document.activeElement.id")


def answer(page, text):
    """Type and press Enter; wait until the sheet has come back and the next question is ready."""
    before = focused(page)
    page.keyboard.type(text)
    with page.expect_response(lambda one: "/answer/" in one.url):
        page.keyboard.press("Enter")
    page.wait_for_load_state("networkidle")
    for _ in range(100):
        # Not understood, the same question stays; else the focus goes on.
        if focused(page) not in ("", before):
            break
        page.wait_for_timeout(50)


def test_a_call_by_keyboard_alone(desk):
    page = desk()
    page.goto("/calls/")
    assert focused(page) == "name"
    page.keyboard.type("Nelda Prowse")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Call")
    assert focused(page) == "drive_1"
    answer(page, "3")
    expect(page.locator("#drive_3")).to_be_checked()
    told = {"head": "57 1/2", "elbows": "27", "wheels": "66 cm", "length": "47",
            "rider_mass": "240 lb", "chair_mass": "350"}  # fmt: skip
    asked = []
    while (name := focused(page)) in told and name not in asked:
        asked.append(name)
        answer(page, told[name])
    assert len(asked) >= 3
    expect(page.locator(".so-far")).to_contain_text("Ruled out.")
    expect(page.get_by_role("status").first).to_contain_text("ruled out")
    answer(page, "thereabouts")
    wrong = focused(page)
    expect(page.locator(f"#{wrong}")).to_have_value("thereabouts")
    expect(page.locator(f"#{wrong}")).to_have_attribute("aria-invalid", "true")
    page.reload()
    expect(page.locator(f"#{wrong}")).to_have_value("thereabouts")
    assert Axe().run(page).response["violations"] == []


def test_what_is_typed_while_an_answer_is_on_its_way_is_not_lost(desk):
    page = desk()
    page.goto("/calls/")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Call")
    page.route("**/answer/", lambda route: (time.sleep(0.5), route.continue_()))
    page.keyboard.press("2")
    with page.expect_response(lambda one: "/answer/" in one.url):
        page.keyboard.press("Enter")
        page.locator("#note").focus()
        page.keyboard.type("calls again at noon")
    page.wait_for_load_state("networkidle")
    expect(page.locator("#note")).to_have_value("calls again at noon")


def test_a_match_and_the_page_of_a_pair(desk):
    page = desk()
    page.goto("/match/")
    page.get_by_role("link", name="Anselm Drury").click()
    page.get_by_role("button", name="Work out the open pairs").click()
    expect(page.get_by_text("Every pair that can be asked is answered")).to_be_visible(
        timeout=WORK_MS
    )
    expect(page.get_by_role("row").filter(has_text="does not fit")).to_have_count(2)
    page.get_by_role("link", name=re.compile("^does not fit")).click()
    expect(page.locator("tbody tr")).to_have_count(2)

    page.goto("/match/")
    page.get_by_role("link", name="Marit Ovesen").click()
    page.get_by_role("link", name=re.compile("Stork")).click()
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_role("heading", name=re.compile("^Fits"))).to_be_visible(timeout=WORK_MS)
    play = page.get_by_role("button", name="Play")
    expect(play).to_be_visible()
    before = page.locator("#roll-plan").get_attribute("transform")
    slider = page.locator("#roll-slider")
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(slider).to_have_value("1")
    assert page.locator("#roll-plan").get_attribute("transform") != before
    with page.expect_download() as kept:
        page.get_by_role("link", name="The sheet as PDF").click()
    assert kept.value.path().read_bytes().startswith(b"%PDF")


SIZES = {"phone": {"width": 360, "height": 740}, "desk": {"width": 1280, "height": 900}}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_axe_finds_nothing_and_nothing_runs_off_the_side(desk, size, scheme):
    page = desk(viewport=SIZES[size], color_scheme=scheme, reduced_motion="reduce")
    found = []
    for url in ("/calls/", "/calls/4/", "/calls/6/", "/match/", "/match/rider/4/", "/match/van/3/",
                "/fits/3/5/", "/fits/1/5/"):  # fmt: skip
        page.goto(url)
        found += [
            (url, one["id"], [node["target"] for node in one["nodes"]][:3])
            for one in Axe().run(page).response["violations"]
        ]
        wide = page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, (url, wide)
    assert found == []
