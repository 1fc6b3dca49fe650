"""The lot desk and the costs on a van's page."""

import datetime as dt
import re

import pytest
from django.test import Client

from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.costs import add_line, ledgers
from sillway.store.pack import Content
from sillway.store.records import create_record, save_record
from sillway.web.policy import Role
from sillway.web.sheet import still_missing
from workbench_help import demo

ANA = By("Ana", "page")
DAY = dt.date(2026, 11, 20)


@pytest.fixture
def three(db):
    """Three vans: one whole, two begun; numbers by stock number."""
    today = now().date()
    made = {}
    for stock, stage, days in (("A-1", "for sale", 30), ("B-2", "checking", 5), ("C-3", "", 90)):
        doc = {"kind": "van", "stock_number": stock, "make": "Brundell"}
        card = {"came_on": (today - dt.timedelta(days=days)).isoformat()}
        if stage:
            card["stage"] = stage
        made[stock] = create_record("van", Content(doc, card), ANA).record
    add_line(made["A-1"], DAY, "auction", 1_000_000, ANA)
    add_line(made["B-2"], DAY, "auction", 2_500_000, ANA)
    return made


def order(client, **asked):
    text = client.get("/", asked).content.decode()
    return re.findall(r"Brundell, ([ABC]-\d)", text)


def test_vans_are_sorted(owner, three):
    assert order(owner) == ["C-3", "A-1", "B-2"]
    assert order(owner, sort="new") == ["B-2", "A-1", "C-3"]
    assert order(owner, sort="name") == ["A-1", "B-2", "C-3"]
    assert order(owner, sort="stage") == ["C-3", "B-2", "A-1"]
    assert order(owner, sort="money") == ["B-2", "A-1", "C-3"]
    assert order(owner, sort="nonsense") == ["C-3", "A-1", "B-2"]
    assert order(owner, stage="checking") == ["B-2"]


def test_each_line_tells_stage_days_money_and_what_is_missing(owner, three):
    text = owner.get("/").content.decode()
    assert "$25,000.00" in text
    assert ">90<" in text
    assert "to be given: year, model, conversion and" in text
    assert "for sale 1</a>" in text


def test_who_may_not_see_money_sees_none(signed_in, three):
    for role in (Role.SELLER, Role.MECHANIC):
        client = signed_in(role)
        text = client.get("/", {"sort": "money"}).content.decode()
        assert "$" not in text
        assert "Money in it" not in text
        assert order(client, sort="money") == ["C-3", "A-1", "B-2"]
        page = client.get(f"/vans/{three['A-1']}/").content.decode()
        assert "10,000" not in page


def test_a_size_in_the_lot_s_own_box_works_and_a_wrong_one_is_told(owner, van):
    stock = demo("van")["stock_number"]
    assert stock in owner.get("/", {"find": "door over 54 in"}).content.decode()
    text = owner.get("/", {"find": "door over blue"}).content.decode()
    assert "a length such as" in text
    assert stock not in text


def test_a_whole_van_lacks_nothing_and_an_empty_one_is_named_by_its_parts():
    assert still_missing("van", demo("van")) == ()
    doc = {**demo("van"), "ramp": {"length": 58}}
    assert still_missing("van", doc) == ("ramp operation", "ramp width at hinge", "ramp rise")
    assert still_missing("van", {})[:2] == ("stock number", "year")


def test_a_cost_is_added_shown_and_taken_out(owner, van):
    url = f"/vans/{van}/costs/"
    data = {"day": "2026-11-20", "what": "tires", "amount": "$520.40"}
    assert owner.post(url, data).url == f"/vans/{van}/#costs"
    text = owner.get(f"/vans/{van}/").content.decode()
    assert "$520.40" in text
    (line,) = ledgers([van])[van].lines
    after = owner.post(f"{url}{line.id}/out/", follow=True).content.decode()
    assert "Taken out: tires, $520.40" in after
    assert ledgers([van])[van].total_cents == 0


def test_a_cost_that_will_not_do_is_named_and_nothing_typed_is_lost(owner, van):
    answer = owner.post(f"/vans/{van}/costs/", {"day": "", "what": "tires", "amount": "much"})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert 'href="#id_amount"' in text
    assert 'value="tires"' in text
    assert 'value="much"' in text
    assert ledgers([van]) == {}


@pytest.mark.parametrize("role", [Role.SELLER, Role.MECHANIC, Role.VIEWER])
def test_costs_are_not_for_everybody(role, signed_in, van):
    client = signed_in(role)
    data = {"day": "2026-11-20", "what": "tires", "amount": "5"}
    assert client.post(f"/vans/{van}/costs/", data).status_code == 403
    assert client.post(f"/vans/{van}/costs/abc/out/").status_code == 403
    assert ledgers([van]) == {}


def test_costs_ladder(owner, van, rider):
    data = {"day": "2026-11-20", "what": "tires", "amount": "5"}
    assert Client().post(f"/vans/{van}/costs/", data).url.startswith("/accounts/sign-in/")
    assert owner.get(f"/vans/{van}/costs/").status_code == 405
    assert owner.post("/vans/4711/costs/", data).status_code == 404
    assert owner.post(f"/vans/{rider}/costs/", data).status_code == 404
    assert owner.get(f"/vans/{van}/costs/abc/out/").status_code == 405


def test_the_plan_of_a_whole_van_is_drawn_and_of_a_begun_one_not(owner, van, three):
    assert f"/vans/{van}/plan-1.svg" in owner.get(f"/vans/{van}/").content.decode()
    answer = owner.get(f"/vans/{van}/plan-1.svg")
    assert answer["Content-Type"] == "image/svg+xml"
    text = answer.content.decode()
    assert text.startswith("<svg")
    assert "37 in" in text
    begun = three["A-1"]
    assert "plan-1.svg" not in owner.get(f"/vans/{begun}/").content.decode()
    assert owner.get(f"/vans/{begun}/plan-1.svg").status_code == 404
    assert owner.get(f"/vans/{van}/plan-9.svg").status_code == 404
    assert Client().get(f"/vans/{van}/plan-1.svg").status_code == 302


def test_a_long_history_comes_page_by_page_and_each_step_tells_what_changed(owner, three):
    number = three["A-1"]
    doc = {"kind": "van", "stock_number": "A-1", "make": "Brundell"}
    for base in range(1, 25):
        save_record(number, Content(doc, {"waits_for": f"thing {base}"}), ANA, base=base)
    first = owner.get(f"/vans/{number}/history/").content.decode()
    assert (first.count("<li id="), 'id="r25"' in first, 'id="r5"' in first) == (20, True, False)
    assert "thing 5" in first.split('id="r6"')[1]
    second = owner.get(f"/vans/{number}/history/?page=2").content.decode()
    assert (second.count("<li id="), 'id="r5"' in second, "Begun." in second) == (5, True, True)
    assert "Begun." not in first
