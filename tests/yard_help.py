"""A lot served for phones in tests, which can lose its signal and its power at any moment."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import threading
import time

from workbench_help import in_lot, lot_env

SERVE = "import sys; from sillway.web.serve import main; sys.exit(main(sys.argv[1:]))"
START_S = 120
ENTRY = b"POST /offline/entries/"
MAKE = """
from workbench_help import demo
from sillway.store.by import By
from sillway.store.pack import Content
from sillway.store.records import create_record
from sillway.store.clock import now
from sillway.web.accounts.models import Account
ana = By("Ana", "page")
create_record("van", Content(demo("van"), {"stage": "checking"}), ana)
create_record("van", Content({"kind": "van", "stock_number": "N-1", "year": 2020,
                              "make": "Orrin", "model": "Teal"}), ana)
create_record("rider", Content(demo("rider"), {"phone": "(555) 010-7788"}), ana)
for name, role in (("Max", "mechanic"), ("Sal", "seller")):
    one = Account(name=name, role=role, made_at=now())
    one.set_password("a sentence of four words")
    one.save()
"""
SIGN_IN = """
from django.test import Client
from django_otp import DEVICE_ID_SESSION_KEY
from django_otp.plugins.otp_totp.models import TOTPDevice
from sillway.web.accounts.models import Account
one = Account.objects.get(name={name!r})
client = Client()
client.force_login(one, backend="sillway.web.accounts.backend.AccountBackend")
session = client.session
device, _made = TOTPDevice.objects.get_or_create(user=one, name="app", confirmed=True)
session[DEVICE_ID_SESSION_KEY] = device.persistent_id
session.save()
print(session.session_key)
"""


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


class Yard:
    """The lot behind a line of its own. ``base`` is the phone's address of it.

    The line passes on what it is given. It can be cut (no signal); and it can be told to let one
    entry through to the server, then kill the server and swallow its answer.
    """

    def __init__(self, data) -> None:
        self.data, self.port, self.line_port = data, free_port(), free_port()
        self.base = f"http://127.0.0.1:{self.line_port}"
        self.server: subprocess.Popen | None = None
        self.kill_at_answer = False
        self.entries_seen = 0
        self._line: socket.socket | None = None
        self._log = (data.parent / "log").open("a")
        in_lot(data, MAKE)

    def start(self) -> None:
        """Switch the server on and wait until it listens."""
        self.server = subprocess.Popen(
            [sys.executable, "-c", SERVE, "serve", "--data", str(self.data), "--port",
             str(self.port)],
            env=lot_env(self.data, SILLWAY_HOSTS="127.0.0.1"), stdout=self._log,
            stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip
        end = time.monotonic() + START_S
        while True:
            assert self.server.poll() is None, self.log()
            assert time.monotonic() < end, self.log()
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                return
            except OSError:
                time.sleep(0.1)

    def kill(self) -> None:
        """Pull the plug: SIGKILL to the server and every process it started."""
        assert self.server is not None
        os.killpg(self.server.pid, signal.SIGKILL)
        self.server.wait(30)

    def log(self) -> str:
        self._log.flush()
        return (self.data.parent / "log").read_text()

    def connect(self) -> None:
        """Give the phone signal."""
        self._line = socket.create_server(("127.0.0.1", self.line_port))
        threading.Thread(target=self._accept, args=(self._line,), daemon=True).start()

    def cut(self) -> None:
        """Take the phone's signal away."""
        assert self._line is not None
        with contextlib.suppress(OSError):
            self._line.shutdown(socket.SHUT_RDWR)
        self._line.close()
        self._line = None

    def _accept(self, line: socket.socket) -> None:
        while True:
            try:
                phone, _from = line.accept()
                lot = socket.create_connection(("127.0.0.1", self.port), 5)
                lot.settimeout(None)
            except OSError:
                if self._line is not line:
                    return
                with contextlib.suppress(OSError, UnboundLocalError):
                    phone.close()
                continue
            mark = threading.Event()
            for args in ((phone, lot, line, mark, True), (lot, phone, line, mark, False)):
                threading.Thread(target=self._pass_on, args=args, daemon=True).start()

    def _pass_on(self, source, target, line, entry: threading.Event, outward: bool) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65536):
                if self._line is not line:
                    break
                if outward and ENTRY in data:
                    self.entries_seen += 1
                    entry.set()
                elif not outward and entry.is_set():
                    entry.clear()
                    if self.kill_at_answer:
                        # It has taken effect; nobody will ever see this answer.
                        self.kill_at_answer = False
                        self.kill()
                        break
                target.sendall(data)
        for one in (source, target):
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
            one.close()

    def session(self, name: str) -> str:
        """A session of somebody who is signed in with both factors."""
        return in_lot(self.data, SIGN_IN.format(name=name)).strip()

    def ask(self, code: str) -> str:
        """What code says about the lot's data, beside the server."""
        return in_lot(self.data, code).strip()
