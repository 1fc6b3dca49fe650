"""``sillway serve``: one command, one process to stop, a URL."""

from __future__ import annotations

import argparse
import hashlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from sillway.errors import BadInput
from sillway.store.folder import DEFAULT, VARIABLE, Folder, write_whole
from sillway.web import tls

PLAIN_PORT: Final = 8000
LAN_PORT: Final = 8443
# Two processes use two cores; threads keep a slow phone from holding up the others.
PROCESSES: Final = 2
THREADS: Final = 8
# A phone on a weak signal may take this long over one photo. [s]
PATIENCE_S: Final = 120


@dataclass(frozen=True, slots=True)
class Way:
    """How the lot is reached.

    Attributes:
        origin: the address people use.
        host, port: where this process listens.
        hosts: further names it answers to.
        proxy: whether a reverse proxy stands before it.
        certificate: certificate and key, if this process speaks HTTPS itself.
        says: what to tell on the console.
    """

    origin: str
    host: str
    port: int
    hosts: tuple[str, ...] = ()
    proxy: bool = False
    certificate: tuple[Path, Path] | None = None
    says: tuple[str, ...] = ()


def add_parser(subparsers: Any) -> None:
    """Add ``serve`` to the command line."""
    says = "open the lot in a browser"
    add(subparsers.add_parser("serve", help=says, description=says))


def add(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``serve``."""
    parser.add_argument(
        "--data",
        type=Path,
        default=Path(os.environ.get(VARIABLE, DEFAULT)),
        metavar="DIR",
        help="where the lot is kept (default: %(default)s)",
    )
    parser.add_argument("--port", type=int)
    parser.add_argument("--demo", action="store_true", help="load the invented demo lot")
    how = parser.add_mutually_exclusive_group()
    how.add_argument(
        "--lan",
        action="store_true",
        help="HTTPS for phones in the yard, with the lot's own certificate",
    )
    how.add_argument(
        "--public",
        metavar="NAME",
        help="reached as https://NAME, behind a reverse proxy or with --cert",
    )
    parser.add_argument("--cert", type=Path, help="with --public: certificate chain, PEM")
    parser.add_argument("--cert-key", type=Path, help="with --public: its key, PEM")
    parser.add_argument("--owner-link", action="store_true", help="print a link for a new owner")
    parser.add_argument(
        "--server",
        choices=("gunicorn", "cheroot"),
        default="gunicorn" if os.name == "posix" else "cheroot",
    )
    parser.add_argument(
        "--no-worker", action="store_true", help="long work is done by `sillway worker` elsewhere"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """``sillway serve``; returns when stopped."""
    folder = Folder(args.data.resolve())
    folder.make()
    way = way_for(args, folder)
    os.environ["SILLWAY_ORIGIN"] = way.origin
    os.environ["SILLWAY_PROXY"] = "yes" if way.proxy else "no"
    os.environ["SILLWAY_HOSTS"] = ",".join(way.hosts)
    links = prepare(folder, demo=args.demo, owner_link=args.owner_link)
    for line in (
        *way.says,
        *(f"Open this once to become owner: {way.origin}{link}" for link in links),
        f"sillway is at {way.origin}/",
    ):
        print(line, flush=True)
    worker = None
    if not args.no_worker:
        from sillway.web.worker import start_beside

        worker = start_beside(folder.root)
    try:
        (_gunicorn if args.server == "gunicorn" else _cheroot)(way)
    except OSError as error:
        given = f"{way.host}:{way.port} ({error.strerror})"
        raise BadInput("port", given, "another --port") from None
    finally:
        if worker is not None:
            worker.terminate()
            worker.wait()
    return 0


def way_for(args: argparse.Namespace, folder: Folder) -> Way:
    """How the lot is reached, from the command line. Makes the certificate where one is needed.

    Raises:
        BadInput: --cert without --public, or without its key.
    """
    if bool(args.cert) != bool(args.cert_key) or (args.cert and not args.public):
        raise BadInput("cert", args.cert or "", "--public NAME with both --cert and --cert-key")
    if args.lan:
        return _lan(args.port or LAN_PORT, folder)
    if args.public:
        return _public(args)
    port = args.port or PLAIN_PORT
    says = (
        "Plain HTTP, for this computer only. Off: offline work in the yard, the camera on phones,",
        "links for others. `serve --lan` or `serve --public NAME` turns them on (docs/serve.md).",
    )
    return Way(f"http://127.0.0.1:{port}", "127.0.0.1", port, says=says)


def _lan(port: int, folder: Folder) -> Way:
    names, addresses = tls.lan_names()
    pair = tls.own_certificate(folder, names, addresses)
    origin = f"https://{addresses[0]}:{port}"
    says = (
        f"HTTPS for the local network: {origin}/ or https://{names[0]}:{port}/",
        f"Once on each phone: open {origin}/lot.crt, install it, and trust it (docs/serve.md).",
        f"Its fingerprint must read {tls.fingerprint(folder)}",
    )
    hosts = (*names, *addresses)
    return Way(origin, "0.0.0.0", port, hosts, certificate=pair, says=says)


def _public(args: argparse.Namespace) -> Way:
    name = args.public
    if args.cert:
        port = args.port or 443
        for path in (args.cert, args.cert_key):
            if not path.is_file():
                raise BadInput("cert", path, "a PEM file")
        origin = f"https://{name}" + (f":{port}" if port != 443 else "")
        return Way(origin, "0.0.0.0", port, (name,), certificate=(args.cert, args.cert_key))
    port = args.port or PLAIN_PORT
    says = (f"Waiting for a reverse proxy on 127.0.0.1:{port} (docs/serve.md shows its settings).",)
    return Way(f"https://{name}", "127.0.0.1", port, (name,), proxy=True, says=says)


def prepare(folder: Folder, *, demo: bool = False, owner_link: bool = False) -> list[str]:
    """Bring tables, translations and static files up to date; answers links for owners."""
    from sillway.store.opening import open_store

    open_store(folder.root)
    from django.db import connections

    from sillway.store.by import By
    from sillway.web import words
    from sillway.web.accounts.links import make_link
    from sillway.web.accounts.models import Account
    from sillway.web.policy import Role

    words.compile_words(folder.words)
    _static(folder)
    if demo:
        from sillway.web.demo import load

        told = load()
        print(f"demo lot: {told['van']} vans and {told['rider']} riders new", flush=True)
    links = []
    if owner_link or not Account.objects.filter(role=Role.OWNER, is_active=True).exists():
        links.append(f"/accounts/begin/{make_link(Role.OWNER, By('console', 'command'))}/")
    # The server's processes must not share an open database file with this one.
    connections.close_all()
    return links


def _static(folder: Folder) -> None:
    """Collect and compress the static files, unless they are those of the last start."""
    from django.contrib.staticfiles.finders import get_finders
    from django.core.management import call_command

    digest = hashlib.sha256()
    for finder in get_finders():
        for name, storage in sorted(finder.list([]), key=lambda one: one[0]):
            digest.update(name.encode() + b"\0" + Path(storage.path(name)).read_bytes())
    stamp = folder.static / "made-from"
    if stamp.exists() and stamp.read_text() == digest.hexdigest():
        return
    call_command("collectstatic", verbosity=0, interactive=False, clear=True)
    write_whole(stamp, digest.hexdigest().encode())


def _gunicorn(way: Way) -> None:
    from gunicorn.app.base import BaseApplication

    class Server(BaseApplication):  # type: ignore[misc]
        """gunicorn, set up from here."""

        def load_config(self) -> None:
            """Our settings."""
            values: dict[str, Any] = {
                "bind": f"{way.host}:{way.port}",
                "workers": PROCESSES,
                "worker_class": "gthread",
                "threads": THREADS,
                "timeout": PATIENCE_S,
                "preload_app": True,
                "accesslog": None,
                "loglevel": "warning",
                "control_socket_disable": True,
            }
            if way.certificate:
                values["certfile"], values["keyfile"] = map(str, way.certificate)
            for name, value in values.items():
                if name in self.cfg.settings:
                    self.cfg.set(name, value)

        def load(self) -> Any:
            """The application, loaded once before the processes part."""
            from sillway.web.wsgi import application

            return application

    Server().run()


def _cheroot(way: Way) -> None:
    from cheroot.ssl.builtin import BuiltinSSLAdapter
    from cheroot.wsgi import Server

    from sillway.web.wsgi import application

    server = Server((way.host, way.port), application, numthreads=PROCESSES * THREADS)
    server.timeout = PATIENCE_S
    if way.certificate:
        server.ssl_adapter = BuiltinSSLAdapter(*map(str, way.certificate))
    try:
        server.safe_start()
    finally:
        server.stop()


def main(argv: list[str]) -> int:
    """A command line with this command only."""
    parser = argparse.ArgumentParser()
    add_parser(parser.add_subparsers(required=True))
    args = parser.parse_args(argv)
    return int(args.run(args))
