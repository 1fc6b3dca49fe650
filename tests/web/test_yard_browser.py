"""Real Chromium in the yard: a phone measures a van, loses signal, the server dies, nothing twice.

The stranger's flow by link too; and axe on every page of measuring, at two sizes, light and dark.
"""

import re
from io import BytesIO

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import expect

from yard_help import Yard

pytestmark = pytest.mark.browser
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
PASSWORD = "a sentence of four words"
KEPT = """async () => {
  const kept = await (await caches.open("pages")).keys();
  return kept.map((one) => new URL(one.url).pathname);
}"""
REVISIONS = """
from sillway.store.models import Revision
print(Revision.objects.filter(record=2).count())
"""


@pytest.fixture(scope="module")
def yard(tmp_path_factory):
    """The lot, served, with signal."""
    one = Yard(tmp_path_factory.mktemp("yard") / "lot")
    one.start()
    one.connect()
    yield one
    one.kill()
    assert "Traceback" not in one.log()


def phone(yard, browser, name="Max", size=PHONE, **more):
    """A phone signed in as somebody."""
    context = browser.new_context(base_url=yard.base, viewport=size, **more)
    if name:
        cookie = {"name": "sillway", "value": yard.session(name), "url": yard.base}
        context.add_cookies([cookie])
    return context


def keep(page):
    page.get_by_role("button", name="Keep and go on").click()


def test_a_van_is_measured_on_a_phone(yard, browser):
    context = phone(yard, browser)
    page = context.new_page()
    page.goto("/measure/")
    page.get_by_role("link", name=re.compile("N-1")).click()
    page.get_by_role("link", name="Begin measuring").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Vehicle identification number")
    expect(page.get_by_role("img", name="Vehicle identification number")).to_be_visible()
    page.goto("/measure/van/2/ramp-length/")
    length = page.get_by_role("textbox", name="Length of the ramp", exact=True)
    # A glove on the phone's pad of digits, and on our pad of fractions.
    length.fill("57")
    page.get_by_role("button", name="1/4", exact=True).click()
    page.get_by_role("button", name="in", exact=True).click()
    expect(length).to_have_value("57 1/4 in")
    keep(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Spans of a folding ramp")
    page.get_by_text("Cannot measure this").click()
    page.get_by_role("button", name="Keep: cannot be measured").click()
    expect(page.get_by_role("alert")).to_contain_text("Say why")
    page.get_by_label("There is none here").check()
    page.get_by_role("button", name="Keep: cannot be measured").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Width of the ramp at the hinge")
    # What is not understood is said before it is kept anywhere.
    page.get_by_role("textbox", name="Width of the ramp at the hinge", exact=True).fill(
        "54 furlongs"
    )
    keep(page)
    expect(page.get_by_role("alert")).to_contain_text("not understood")
    expect(
        page.get_by_role("textbox", name="Width of the ramp at the hinge", exact=True)
    ).to_be_focused()
    page.get_by_role("link", name="Back", exact=True).click()
    expect(page.get_by_text("Cannot be measured: There is none here")).to_be_visible()
    page.goto("/measure/van/2/review/")
    expect(page.get_by_role("listitem").filter(has_text="Length of the ramp")).to_contain_text(
        "57 1/4 in"
    )
    expect(page.locator("#outbox")).to_be_hidden()
    # Every target on a step is large enough for a glove (WCAG 2.2, 2.5.5: 44 px).
    page.goto("/measure/van/2/ramp-rise/")
    for one in page.locator("main form.big button:visible, main form.big input:visible").all():
        assert one.bounding_box()["height"] >= 44
    context.close()


def test_without_signal_and_with_a_dying_server_all_arrives_exactly_once(yard, browser):
    context = phone(yard, browser)
    page = context.new_page()
    page.goto("/measure/van/2/")
    expect(page.locator("#along")).to_contain_text("All 51 pages", timeout=60_000)
    before = int(yard.ask(REVISIONS))

    yard.cut()
    page.goto("/measure/van/2/door-width/")
    page.get_by_role("textbox", name="Width of the doorway", exact=True).fill("38 1/2 in")
    keep(page)
    # On to the next page, from the phone.
    expect(page.get_by_role("heading", level=1)).to_have_text("Height of the doorway")
    bar = page.locator("#outbox")
    expect(bar).to_contain_text("1 entry has not arrived yet. It waits on this phone.")
    page.get_by_role("textbox", name="Height of the doorway", exact=True).fill("56")
    keep(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Middle of the doorway")
    out = BytesIO()
    Image.new("RGB", (64, 48), "navy").save(out, "JPEG")
    page.get_by_label("Photo of this").set_input_files(
        {"name": "door.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}
    )
    page.get_by_role("button", name="Keep the photo").click()
    expect(bar).to_contain_text("3 entries have not arrived yet")
    # The same measure again: a slip put right before anything has arrived.
    page.goto("/measure/van/2/door-width/")
    expect(page.get_by_role("textbox", name="Width of the doorway", exact=True)).to_have_value(
        "38 1/2 in"
    )
    page.get_by_role("textbox", name="Width of the doorway", exact=True).fill("38 5/8 in")
    keep(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Height of the doorway")
    expect(bar).to_contain_text("4 entries")
    # A page that was never taken along says so; the list names what waits. Both after a restart
    # of the phone's page.
    page.goto("/vans/2/")
    expect(page.get_by_role("heading", level=1)).to_have_text("No signal")
    page.get_by_role("main").get_by_role("link", name="Not arrived yet").click()
    expect(page.locator("#outbox-list > li")).to_have_count(4)
    expect(page.locator("#outbox-list")).to_contain_text("Width of the doorway")
    assert Axe().run(page).response["violations"] == []

    # Signal again: the first entry takes effect, and the server dies before it can say so.
    yard.kill_at_answer = True
    yard.connect()
    page.reload()
    expect(bar).to_contain_text("No answer from the lot", timeout=30_000)
    assert yard.server.poll() is not None
    assert int(yard.ask(REVISIONS)) == before + 1
    expect(bar).to_contain_text("4 entries")

    yard.start()
    page.reload()
    expect(bar).to_be_hidden(timeout=30_000)
    expect(page.locator("#outbox-empty")).to_be_visible()
    assert yard.entries_seen >= 5
    told = yard.ask("""
from sillway.store.models import PhotoUse
from sillway.store.records import history
for one in reversed(history(2)):
    print(one.revision.number, one.revision.origin, one.content.doc.get("door"))
print("photos", PhotoUse.objects.filter(record=2).count())
""").splitlines()
    assert len(told) - 1 == before + 3
    assert "38 1/2 in" in told[before]
    assert "56" in told[before + 1]
    assert "38 5/8 in" in told[before + 2]
    assert all(" phone " in line for line in told[before:-1])
    assert told[-1] == "photos 1"
    context.close()


def test_a_sign_in_that_ended_keeps_the_queue_and_says_so(yard, browser):
    context = phone(yard, browser)
    page = context.new_page()
    page.goto("/measure/van/2/")
    expect(page.locator("#along")).to_contain_text("All 51 pages", timeout=60_000)
    yard.cut()
    page.goto("/measure/van/2/cabin-height/")
    page.get_by_role("textbox", name="Height at the place", exact=True).fill("57 1/2 in")
    keep(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("The side glass")
    bar = page.locator("#outbox")
    expect(bar).to_contain_text("1 entry")
    context.clear_cookies()
    yard.connect()
    page.goto("/offline/")
    expect(bar).to_contain_text("Your sign-in has ended. Nothing is lost", timeout=30_000)
    bar.get_by_role("link", name="Sign in").click()
    page.get_by_label("Name").fill("Max")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Not arrived yet")
    expect(bar).to_be_hidden(timeout=30_000)
    # Signing out takes the pages off the phone again.
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
    kept = page.evaluate(KEPT)
    assert set(kept) <= {"/offline/", "/offline/away/"}
    context.close()


def test_two_answers_to_one_measure_are_chosen_between_on_the_phone(yard, browser):
    context = phone(yard, browser)
    page = context.new_page()
    page.goto("/measure/van/2/")
    expect(page.locator("#along")).to_contain_text("All 51 pages", timeout=60_000)
    yard.cut()
    page.goto("/measure/van/2/wheelbase/")
    page.get_by_role("textbox", name="Wheelbase", exact=True).fill("119 in")
    keep(page)
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("Rear edge of the floor"))
    expect(page.locator("#outbox")).to_contain_text("1 entry")
    yard.ask("""
from dataclasses import replace
from sillway.store.by import By
from sillway.store.records import read_record, save_record
read = read_record(2)
doc = {**read.content.doc, "ratings": {"wheelbase": {"value": "121 in", "way": "label"}}}
save_record(2, replace(read.content, doc=doc), By("Ana", "page"), base=read.revision.number)
""")
    yard.connect()
    page.goto("/offline/")
    expect(page.locator("#outbox")).to_contain_text("1 of them need you to look", timeout=30_000)
    row = page.locator("#outbox-list > li")
    expect(row).to_contain_text("yours 119 in (tape), now 121 in (label)")
    assert Axe().run(page).response["violations"] == []
    row.get_by_role("button", name="Let mine hold").click()
    expect(page.locator("#outbox")).to_be_hidden(timeout=30_000)
    says = yard.ask("""
from sillway.store.records import read_record
print(read_record(2).content.doc["ratings"]["wheelbase"]["value"])
""")
    assert says == "119 in"
    context.close()


def make_link(yard, language):
    secret = yard.ask(f"""
from sillway.store.by import By
from sillway.store.models import Record
from sillway.web.share.links import make_link
print(make_link(Record.objects.get(pk=3), {language!r}, By("Sal", "page"))[1])
""")
    return f"/share/with/{secret}/"


def test_a_stranger_measures_the_chair_at_home_and_a_seller_takes_it(yard, browser):
    seller = phone(yard, browser, "Sal", DESK)
    desk = seller.new_page()
    desk.goto("/share/rider/3/")
    desk.get_by_label("Language of the pages").select_option("es")
    desk.get_by_role("button", name="Make a link").click()
    link = desk.get_by_label("Address").input_value()

    context = phone(yard, browser, None)
    page = context.new_page()
    page.goto(link)
    expect(page.get_by_role("heading", level=1)).to_have_text("Medir la silla")
    page.get_by_role("link", name="Empezar a medir").click()
    page.get_by_role("combobox", name="Clase de silla").select_option("manual")
    page.get_by_role("button", name="Guardar y seguir").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Largo de silla y persona")
    page.goto(link)
    page.get_by_role("link", name="Alto de la puerta del garaje").click()
    page.get_by_role("textbox", name="Alto de la puerta del garaje").fill("84 3/8")
    page.get_by_role("button", name="Guardar y seguir").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Fondo del garaje")
    page.get_by_role("link", name="Repasarlo todo").click()
    page.get_by_label("Quién midió").fill("Ilse")
    page.get_by_role("button", name="Enviarlo").click()
    expect(page.get_by_text("Enviado. Gracias.")).to_be_visible()
    # The link opens nothing else.
    page.goto("/riders/3/")
    expect(page).to_have_url(re.compile("/accounts/sign-in/"))

    desk.goto("/share/")
    desk.get_by_role("main").get_by_role("listitem").get_by_role("link").click()
    expect(desk.get_by_role("main")).to_contain_text("84 3/8 in")
    assert Axe().run(desk).response["violations"] == []
    for name, answer in (
        ("What sort of chair", "Leave the record"),
        ("Height of the garage door", "Take what was sent in"),
    ):
        step = desk.get_by_role("group", name=re.compile(name))
        step.get_by_role("radio", name=answer).check()
    desk.get_by_role("button", name="Take it into the record").click()
    kept = desk.get_by_role("row").filter(has_text="84 3/8 in (tape)")
    expect(kept).to_contain_text("garage height")
    context.close()
    seller.close()


VAN_PAGES = [
    "/measure/", "/measure/van/1/", "/measure/van/1/review/", "/measure/van/1/ratings/",
    "/measure/van/1/seats/", "/measure/van/1/cabin-floor/", "/measure/van/2/entry/",
    "/measure/van/2/tread-left-front/", "/offline/", "/offline/away/",
]  # fmt: skip
SELLER_PAGES = [
    "/measure/rider/3/", "/measure/rider/3/slice-head/", "/measure/rider/3/review/", "/share/",
    "/share/rider/3/",
]  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_axe_finds_nothing_and_nothing_runs_off_the_side(yard, browser, size, scheme):
    """Also: no complaint on the console, so the content policy is kept."""
    link = make_link(yard, "en")
    context = phone(yard, browser, "Sal", PHONE if size == "phone" else DESK,
                    color_scheme=scheme, reduced_motion="reduce")  # fmt: skip
    page = context.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{page.url}: {message.text}"))
    page.on("pageerror", lambda error: said.append(f"{page.url}: {error}"))
    guest = [f"{link}{one}" for one in ("", "slice-knees/", "tested/", "review/")]
    found = []
    for url in [*VAN_PAGES, *SELLER_PAGES, *guest]:
        page.goto(url)
        for one in Axe().run(page).response["violations"]:
            found.append((url, one["id"], [node["target"] for node in one["nodes"]][:3]))
        wide = page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, (url, wide)
    # With its errors and with its reasons laid open.
    page.goto("/measure/rider/3/slice-head/")
    page.get_by_label("Floor to its top").fill("tall")
    keep(page)
    expect(page.get_by_role("region", name="Not kept yet")).to_be_visible()
    page.get_by_text("Cannot measure this").click()
    for one in Axe().run(page).response["violations"]:
        found.append(("with errors", one["id"], [node["target"] for node in one["nodes"]][:3]))
    assert found == []
    assert [text for text in said if "422" not in text] == []
    context.close()


def test_at_200_percent_nothing_runs_off_the_side(yard, browser):
    """A 1280 wide window at 200 % has 640 CSS pixels; at 400 % 320 (WCAG 2.2, 1.4.10)."""
    for width in (640, 320):
        context = phone(yard, browser, "Sal", {"width": width, "height": 450})
        page = context.new_page()
        for url in ("/measure/van/1/", "/measure/van/1/seats/", "/measure/rider/3/slice-head/"):
            page.goto(url)
            wide = page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
            assert wide <= 0, (url, width, wide)
        context.close()
