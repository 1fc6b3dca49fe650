"""``serve`` in its three ways, over real sockets, with both servers."""

import argparse
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request

import pytest

from sillway.errors import BadInput
from sillway.store.folder import Folder
from sillway.web import serve, tls
from workbench_help import in_lot, lot_env

START_S = 120
CODE = "import sys; from sillway.web.serve import main; sys.exit(main(sys.argv[1:]))"


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@pytest.fixture
def started(tmp_path):
    """Starts ``serve``; answers port and console. Ended and checked for faults afterwards."""
    running = []

    def start(*args):
        port, log = free_port(), tmp_path / f"log{len(running)}"
        data = tmp_path / "lot"
        command = [sys.executable, "-c", CODE, "serve", "--data", str(data), "--port", str(port)]
        with log.open("w") as out:
            server = subprocess.Popen(
                [*command, *args], env=lot_env(data), stdout=out, stderr=subprocess.STDOUT
            )
        running.append((server, log))
        end = time.monotonic() + START_S
        while "sillway is at" not in log.read_text() or not _listens(port):
            assert server.poll() is None, log.read_text()
            assert time.monotonic() < end, log.read_text()
            time.sleep(0.2)
        return port, log.read_text()

    yield start
    for server, log in running:
        server.send_signal(signal.SIGTERM)
        server.wait(30)
        assert "Traceback" not in log.read_text()


def _listens(port):
    with socket.socket() as one:
        return one.connect_ex(("127.0.0.1", port)) == 0


def get(url, context=None, **headers):
    request = urllib.request.Request(url, headers=headers)
    opener = urllib.request.build_opener(urllib.request.HTTPSHandler(context=context), _Stay())
    with opener.open(request, timeout=30) as answer:
        return answer.status, answer.headers, answer.read().decode()


class _Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *args):
        return None


def test_plain_serve_says_what_is_off_and_its_link_opens(started):
    port, said = started("--no-worker")
    assert "Off: offline work" in said
    link = re.search(r"http://127\.0\.0\.1:\d+/accounts/begin/\S+", said)
    assert link
    status, headers, text = get(link[0])
    assert status == 200
    assert "unsafe" not in headers["Content-Security-Policy"]
    style = re.search(r'href="(/static/sillway/sheet\.[0-9a-f]+\.css)"', text)
    assert style, "static files carry a hash in their name"
    _status, headers, _text = get(f"http://127.0.0.1:{port}{style[1]}")
    assert "immutable" in headers["Cache-Control"]
    with pytest.raises(urllib.error.HTTPError) as refused:
        get(f"http://127.0.0.1:{port}/", Host="evil.example")
    assert refused.value.code == 400


@pytest.mark.parametrize("server", ["gunicorn", "cheroot"])
def test_lan_speaks_https_with_a_certificate_the_lot_s_authority_vouches_for(
    started, tmp_path, server
):
    port, said = started("--lan", "--no-worker", "--server", server)
    folder = Folder(tmp_path / "lot")
    assert tls.fingerprint(folder) in said
    trust = ssl.create_default_context(cafile=str(folder.tls / "authority.pem"))
    status, headers, text = get(f"https://127.0.0.1:{port}/accounts/sign-in/", trust)
    assert status == 200
    cookie = headers["Set-Cookie"]
    assert "Secure" in cookie
    assert "HttpOnly" in cookie
    _status, headers, text = get(f"https://127.0.0.1:{port}/lot.crt", trust)
    assert headers["Content-Type"] == "application/x-x509-ca-cert"
    assert text == (folder.tls / "authority.pem").read_text()
    with pytest.raises(urllib.error.URLError, match="certificate verify failed"):
        get(f"https://127.0.0.1:{port}/", ssl.create_default_context())


def test_public_behind_a_proxy_trusts_what_the_proxy_noted(started, tmp_path):
    port, said = started("--public", "lot.example", "--no-worker")
    assert f"127.0.0.1:{port}" in said
    proxied = {"Host": "lot.example", "X-Forwarded-Proto": "https"}
    url = f"http://127.0.0.1:{port}/accounts/sign-in/"
    _status, headers, _text = get(url, **proxied)
    assert "Secure" in headers["Set-Cookie"]
    assert headers["Strict-Transport-Security"]


def test_serve_starts_a_worker_and_takes_it_along_when_it_ends(tmp_path):
    data, port = tmp_path / "lot", free_port()
    in_lot(data, """
        from sillway.store.by import By
        from sillway.store.jobs import ask
        ask("store.look_over", By("Ana", "page"))
    """)  # fmt: skip
    command = [sys.executable, "-c", CODE, "serve", "--data", str(data), "--port", str(port)]
    server = subprocess.Popen(command, env=lot_env(data), stdout=subprocess.DEVNULL)
    code = "from sillway.store.models import Job\njob = Job.objects.get()\n"
    code += "print(job.state, job.runner)"
    end = time.monotonic() + START_S
    while (state := in_lot(data, code).split())[0] != "done":
        assert time.monotonic() < end, state
    worker = int(state[1].split(":")[1])
    server.send_signal(signal.SIGTERM)
    server.wait(30)
    while _alive(worker):
        assert time.monotonic() < end
        time.sleep(0.1)


def _alive(process):
    done = subprocess.run(["ps", "-o", "stat=", "-p", str(process)], capture_output=True, text=True,
                          check=False)  # fmt: skip
    return bool(done.stdout.strip()) and not done.stdout.startswith("Z")


def parsed(*args):
    parser = argparse.ArgumentParser()
    serve.add(parser)
    return parser.parse_args(list(args))


@pytest.mark.parametrize(
    "args",
    [("--cert", "x.pem"), ("--public", "lot.example", "--cert", "x.pem"),
     ("--public", "lot.example", "--cert", "none.pem", "--cert-key", "none.pem")],
)  # fmt: skip
def test_half_a_certificate_is_refused(tmp_path, args):
    with pytest.raises(BadInput, match="cert"):
        serve.way_for(parsed(*args), Folder(tmp_path))


def test_a_certificate_is_kept_until_a_name_changes(tmp_path):
    folder = Folder(tmp_path)
    pem, _key = tls.own_certificate(folder, ["lot.local"], ["192.168.1.2"])
    first = pem.read_bytes()
    tls.own_certificate(folder, ["lot.local"], ["192.168.1.2"])
    assert pem.read_bytes() == first
    authority = (folder.tls / "authority.pem").read_bytes()
    tls.own_certificate(folder, ["lot.local"], ["192.168.1.3"])
    assert pem.read_bytes() != first
    assert (folder.tls / "authority.pem").read_bytes() == authority
    for name in ("lot.key", "authority.key"):
        assert (folder.tls / name).stat().st_mode & 0o077 == 0


def test_the_authority_vouches_for_private_addresses_only(tmp_path):
    from cryptography import x509

    folder = Folder(tmp_path)
    tls.own_certificate(folder, ["lot.local"], ["192.168.1.2"])
    found = x509.load_pem_x509_certificate((folder.tls / "authority.pem").read_bytes())
    limits = found.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical
    allowed = {str(one.value) for one in limits.value.permitted_subtrees}
    assert "192.168.0.0/16" in allowed
    assert "lot.local" in allowed
    assert not {"com", "", "0.0.0.0/0"} & allowed


def test_a_host_with_a_public_address_gets_that_one_address_too(tmp_path):
    folder = Folder(tmp_path)
    tls.own_certificate(folder, ["lot.local"], ["192.168.1.2"])
    before = (folder.tls / "authority.pem").read_bytes()
    tls.own_certificate(folder, ["lot.local"], ["203.0.113.9"])
    after = (folder.tls / "authority.pem").read_bytes()
    assert after != before
    tls.own_certificate(folder, ["lot.local"], ["203.0.113.9", "192.168.1.2"])
    assert (folder.tls / "authority.pem").read_bytes() == after


def test_the_demo_lot_is_loaded_once(db):
    from sillway.web.demo import load

    first = load()
    assert first["van"] > 0
    assert first["rider"] > 0
    assert load() == {"van": 0, "rider": 0}


def test_demo_records_must_be_marked_as_invented(db, tmp_path):
    from sillway.web.demo import load

    (tmp_path / "a.json").write_text('{"kind": "van"}')
    with pytest.raises(BadInput, match="invented"):
        load(tmp_path)
