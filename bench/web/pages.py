"""How fast the main pages are: 200 vans, 2,000 riders, 20,000 revisions, 50 readers, 5 writers.

    .venv/bin/python bench/web/pages.py [--data DIR] [--seconds 20] [--think 1.0]

Makes the lot once in DIR, serves it, and drives it over HTTP on the same machine. Readers wait
``--think`` seconds between two pages; 0 is a closed loop, which measures throughput instead.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import random
import re
import socket
import statistics
import subprocess
import sys
import time
import uuid
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
VANS, RIDERS, REVISIONS = 200, 2000, 20_000
READERS, WRITERS = 50, 5
NAMES = ("Ames", "Brook", "Cole", "Dane", "Ellis", "Frost", "Grove", "Hale", "Ivers", "Jute")
PORT_WAIT_S = 120
# Changes the server said it kept: van and mark.
KEPT: set[tuple[int, str]] = set()
# Largest page seen, by kind, as it stands unpacked. [bytes]
WEIGHTS: dict[str, int] = {}


def documents(kind: str) -> list[dict]:
    """The demo lot's documents of a kind."""
    paths = sorted((ROOT / "demo" / f"{kind}s").glob("*.json"))
    return [json.loads(path.read_text("utf-8")) for path in paths]


def make(data: Path, revisions: int) -> None:
    """Fill a lot, many records at once so that making it is not what takes long."""
    from sillway.store.opening import open_store

    open_store(data)
    import datetime as dt

    from sillway.store.bulk import Item
    from sillway.store.by import By
    from sillway.store.costs import add_line
    from sillway.store.kinds import checked_card, kind_of
    from sillway.store.models import Record, Revision
    from sillway.store.pack import Content

    if Revision.objects.count() >= revisions:
        return
    by, rng = By("bench", "command"), random.Random(1)
    vans, riders = documents("van"), documents("rider")

    def item(kind: str, doc: dict, card: dict, **more: int) -> Item:
        whole = Content(doc, checked_card(kind_of(kind), card))
        return Item(kind, whole, True, uuid.uuid4(), **more)

    made = [{**vans[number % len(vans)], "stock_number": f"B-{number:03}"}
            for number in range(VANS)]  # fmt: skip
    keep([item("van", doc, {"stage": "for sale", "came_on": "2026-09-01"}) for doc in made], by)
    people = []
    for number in range(RIDERS):
        name = f"{rng.choice(NAMES)} {rng.choice(NAMES)} {number}"
        doc = {**riders[number % len(riders)], "name": name}
        people.append(item("rider", doc, {"phone": f"555 010 {number:04}"}))
    keep(people, by)
    rows = list(Record.objects.filter(kind="van").order_by("pk"))
    for count, row in enumerate(rows):
        for _line in range(3):
            add_line(row.pk, dt.date(2026, 9, 1), "a cost", 100_00 * (count + 1), by)
    base = 1
    while Revision.objects.count() < revisions:
        card = {"stage": "for sale", "came_on": "2026-09-01", "waits_for": f"note {base}"}
        keep([item("van", doc, card, record=row.pk, base=base)
              for row, doc in zip(rows, made, strict=True)], by)  # fmt: skip
        base += 1


def keep(items: list, by: Any) -> None:
    """All of these at once."""
    from sillway.store.bulk import keep_all

    keep_all(items, by, "bench.made", lambda done: None)


def cookies(count: int) -> list[tuple[str, int]]:
    """Sessions of owners with their second factor, as cookies."""
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore
    from django_otp import DEVICE_ID_SESSION_KEY
    from django_otp.plugins.otp_totp.models import TOTPDevice

    from sillway.store.clock import now
    from sillway.web.accounts.models import Account

    found = []
    for number in range(count):
        name = f"bench {number}"
        one, _made = Account.objects.get_or_create(
            name=name, defaults={"role": "owner", "made_at": now(), "password": "!"}
        )
        device, _made = TOTPDevice.objects.get_or_create(user=one, name="bench", confirmed=True)
        session = SessionStore()
        session[SESSION_KEY] = str(one.pk)
        session[BACKEND_SESSION_KEY] = "sillway.web.accounts.backend.AccountBackend"
        session[HASH_SESSION_KEY] = one.get_session_auth_hash()
        session[DEVICE_ID_SESSION_KEY] = device.persistent_id
        session.save()
        found.append((str(session.session_key), one.pk))
    return found


class Browser:
    """One kept connection."""

    def __init__(self, port: int, cookie: str) -> None:
        self.port, self.cookie, self.csrf = port, cookie, ""
        self.streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, verb: str, path: str, body: str = "") -> tuple[int, bytes, float]:
        """Status, body and seconds until the whole answer was there."""
        begun = time.perf_counter()
        for last in (False, True):
            try:
                status, content = await self._once(verb, path, body)
                break
            except (ConnectionError, asyncio.IncompleteReadError):
                self.streams = None  # the server closed an idle connection
                if last:
                    raise
        return status, content, time.perf_counter() - begun

    async def _once(self, verb: str, path: str, body: str) -> tuple[int, bytes]:
        if self.streams is None:
            self.streams = await asyncio.open_connection("127.0.0.1", self.port)
        reader, writer = self.streams
        form = "Content-Type: application/x-www-form-urlencoded\r\n" if body else ""
        head = (
            f"{verb} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n"
            f"Cookie: sillway={self.cookie}; csrftoken={self.csrf}\r\n"
            f"{form}Content-Length: {len(body)}\r\n\r\n"
        )
        writer.write((head + body).encode())
        await writer.drain()
        answer = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        status = int(answer.split(" ", 2)[1])
        if found := re.search(r"csrftoken=(\w+)", answer):
            self.csrf = found[1]
        length = re.search(r"content-length: (\d+)", answer, re.IGNORECASE)
        content = await reader.readexactly(int(length[1])) if length else b""
        if "connection: close" in answer.lower():
            writer.close()
            self.streams = None
        return status, content


async def read(browser: Browser, paths: list[str], end: float, think: float, out: dict) -> None:
    """Open pages until the time is up."""
    rng = random.Random(browser.cookie)
    await asyncio.sleep(rng.random() * think)
    while time.perf_counter() < end:
        path = rng.choice(paths)
        kind = re.sub(r"\d+", "N", re.sub(r"=(?!money).*", "", path))
        status, content, took = await browser.ask("GET", path)
        out.setdefault(kind, []).append((status, took))
        WEIGHTS[kind] = max(WEIGHTS.get(kind, 0), len(content))
        await asyncio.sleep(think * (0.5 + rng.random()))


async def write(browser: Browser, end: float, out: dict) -> None:
    """Change vans' cards; each change is told apart, and looked for at the end."""
    rng = random.Random(browser.cookie)
    await browser.ask("GET", "/accounts/me/")
    count = 0
    while time.perf_counter() < end:
        count += 1
        url = f"/vans/{rng.randint(1, VANS)}/edit/card/"
        _status, page, _took = await browser.ask("GET", url)
        text = page.decode()
        base = re.search(r'name="base" value="(\d+)"', text)
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', text)
        assert base
        assert token
        mark = f"w{browser.cookie[:6]}{count}"
        body = (f"csrfmiddlewaretoken={token[1]}&base={base[1]}&stage=held&came_on=2026-09-01"
                f"&waits_for={mark}&spot=&why=")  # fmt: skip
        status, _content, took = await browser.ask("POST", url, body)
        out.setdefault("save", []).append((status, took))
        if status < 400:
            KEPT.add((int(url.split("/")[2]), mark))
        await asyncio.sleep(0.2)


async def drive(port: int, sessions: list[tuple[str, int]], args: argparse.Namespace) -> dict:
    """All readers and writers at once."""
    rng = random.Random(2)
    paths = ["/", "/riders/"]
    paths += [f"/vans/{rng.randint(1, VANS)}/" for _count in range(20)]
    paths += [f"/riders/{VANS + rng.randint(1, RIDERS)}/" for _count in range(10)]
    paths += [f"/riders/?find={rng.choice(NAMES)}" for _count in range(3)]
    paths += [f"/?find=B-{rng.randint(1, VANS):03}" for _count in range(3)] + ["/"] * 5
    paths += [f"/vans/{rng.randint(1, VANS)}/history/" for _count in range(3)]
    paths += ["/find/?q=door+over+56+in", "/find/?q=010+0123", f"/find/?q={rng.choice(NAMES)}"]
    paths += ["/?sort=money"] * 2
    out: dict[str, list[tuple[int, float]]] = {}
    end = time.perf_counter() + args.seconds
    readers = [Browser(port, cookie) for cookie, _pk in sessions[:READERS]]
    writers = [Browser(port, cookie) for cookie, _pk in sessions[READERS:]]
    await asyncio.gather(
        *(read(one, paths, end, args.think, out) for one in readers),
        *(write(one, end, out) for one in writers),
    )
    return out


def main() -> None:
    """Make, serve, drive, tell."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", type=Path, default=ROOT / "out" / "bench-lot")
    parser.add_argument("--revisions", type=int, default=REVISIONS)
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--think", type=float, default=1.0)
    args = parser.parse_args()
    begun = time.perf_counter()
    make(args.data, args.revisions)
    print(f"lot made or there in {time.perf_counter() - begun:.1f} s")
    sessions = cookies(READERS + WRITERS)
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    code = "import sys; from sillway.web.serve import main; sys.exit(main(sys.argv[1:]))"
    command = [sys.executable, "-c", code, "serve", "--data", str(args.data), "--port", str(port)]
    loaded = os.getloadavg()[0]
    server = subprocess.Popen([*command, "--no-worker"], env=os.environ)
    try:
        wait_for(port)
        asyncio.run(drive(port, sessions, argparse.Namespace(seconds=3, think=args.think)))
        out = asyncio.run(drive(port, sessions, args))
    finally:
        server.terminate()
        server.wait()
    lost = sum(not kept(van, mark) for van, mark in KEPT)
    every = [took for kind, rows in out.items() if kind != "save" for _status, took in rows]
    for kind, rows in sorted(out.items()):
        tell(kind, [took for _status, took in rows], sum(status >= 400 for status, _took in rows))
    tell("all pages", every, 0)
    print(f"{len(every) / args.seconds:.0f} pages a second; {len(KEPT)} changes kept, {lost} lost; "
          f"load {loaded:.1f} before, {os.getloadavg()[0]:.1f} after")  # fmt: skip


def kept(van: int, mark: str) -> bool:
    """Whether a change the server acknowledged stands in the van's history."""
    from sillway.store.records import history

    return any(read.content.card.get("waits_for") == mark for read in history(van))


def tell(kind: str, took: list[float], failed: int) -> None:
    """One line: count, median, 95th percentile, failures."""
    cuts = statistics.quantiles(took, n=20) if len(took) > 1 else took * 20
    print(f"{kind:<20}{len(took):>6}  p50 {statistics.median(took) * 1e3:7.1f} ms"
          f"  p95 {cuts[-1] * 1e3:7.1f} ms  failed {failed}"
          f"  {WEIGHTS.get(kind, 0) / 1e3:6.0f} kB")  # fmt: skip


def wait_for(port: int) -> None:
    """Until the server listens."""
    end = time.monotonic() + PORT_WAIT_S
    while time.monotonic() < end:
        with socket.socket() as one:
            if one.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.2)
    raise SystemExit("the server did not start")


if __name__ == "__main__":
    main()
