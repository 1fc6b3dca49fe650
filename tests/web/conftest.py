"""What the tests of the web share: one account of each role, and clients signed in as them."""

import pytest
from django.test import Client
from django_otp import DEVICE_ID_SESSION_KEY
from django_otp.plugins.otp_totp.models import TOTPDevice
from playwright.sync_api import expect

from sillway.store.by import By
from sillway.store.clock import now
from sillway.store.pack import Content
from sillway.store.records import create_record
from sillway.web.accounts.models import Account
from sillway.web.policy import Role, needs_second_factor
from workbench_help import demo

PASSWORD = "a sentence of four words"
BACKEND = "sillway.web.accounts.backend.AccountBackend"
# What a page or a state is waited for before it counts as missing.
PATIENCE_MS = 90_000
CHROMIUM = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args):
    """Debian's Chromium instead of a downloaded one."""
    return {**browser_type_launch_args, "executable_path": "/usr/bin/chromium", "args": CHROMIUM}


@pytest.fixture(scope="session")
def browser(browser):
    """The browser, with patience: on two busy cores a page may take its time."""
    make = browser.new_context

    def patient(**how):
        context = make(**how)
        context.set_default_timeout(PATIENCE_MS)
        return context

    browser.new_context = patient
    expect.set_options(timeout=PATIENCE_MS)
    yield browser
    expect.set_options(timeout=None)
    browser.new_context = make


@pytest.fixture
def account(db):
    """Makes an account of a role."""

    def make(role, name=""):
        one = Account(name=name or f"the {role}", role=role, made_at=now())
        one.set_password(PASSWORD)
        one.save()
        return one

    return make


@pytest.fixture
def signed_in(account):
    """A client signed in as a role, with the second factor where the role needs it."""

    def sign(role, name=""):
        one = account(role, name)
        client = Client()
        client.force_login(one, backend=BACKEND)
        if needs_second_factor(role):
            device = TOTPDevice.objects.create(user=one, name="app", confirmed=True)
            session = client.session
            session[DEVICE_ID_SESSION_KEY] = device.persistent_id
            session.save()
        client.account = one
        return client

    return sign


@pytest.fixture
def owner(signed_in):
    """A client signed in as owner."""
    return signed_in(Role.OWNER)


@pytest.fixture
def van(db):
    """The number of a whole van."""
    return create_record(
        "van", Content(demo("van"), {"stage": "checking"}), By("Ana", "page")
    ).record


@pytest.fixture
def rider(db):
    """The number of a whole rider."""
    card = {"phone": "(555) 010-7788"}
    return create_record("rider", Content(demo("rider"), card), By("Ana", "page")).record
