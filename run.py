"""Set sillway up, then run it. Needs only Python 3.11 or later and the package registries.

python3 run.py              fit the demo rider to the demo van and write a sheet
python3 run.py test         set up and pass the tests
python3 run.py fit ...      any sillway command (see: python3 run.py --help)
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = BIN / ("python.exe" if os.name == "nt" else "python")
LOCKS = {"use": HERE / "requirements.txt", "test": HERE / "requirements-dev.txt"}


def say(text: str) -> None:
    print(f"run.py: {text}", file=sys.stderr, flush=True)


def stop(text: str) -> None:
    say(text)
    raise SystemExit(2)


def wanted(kind: str) -> str:
    """What the environment has to be made from: the lock's digest and the Python that made it."""
    made_from = LOCKS[kind].read_bytes() + (HERE / "pyproject.toml").read_bytes()
    return f"{sys.version_info[0]}.{sys.version_info[1]} {hashlib.sha256(made_from).hexdigest()}"


def call(args: list[str], what: str) -> None:
    try:
        done = subprocess.run(args, cwd=HERE, check=False)
    except OSError as error:
        stop(f"{what}: {error}")
        return
    if done.returncode:
        stop(f"{what} failed (see above). Mend that and run the same command again.")


def make_venv() -> None:
    if PYTHON.exists():
        return
    say("making the environment in .venv")
    try:
        import venv

        venv.create(VENV, with_pip=True, clear=True)
    except (ImportError, OSError, subprocess.CalledProcessError) as error:
        stop(
            f"could not make a virtual environment ({error}). "
            "On Debian: apt-get install python3-venv, then run this again."
        )


def set_up(kind: str) -> None:
    """Install what the lock says, once; a stamp is written only after everything worked."""
    stamp = VENV / f"ready-{kind}"
    if stamp.exists() and stamp.read_text() == wanted(kind) and PYTHON.exists():
        return
    if sys.version_info < (3, 11):  # noqa: UP036 - run.py runs before anything is installed
        stop(f"needs Python 3.11 or later, this is {sys.version.split()[0]}")
    make_venv()
    say(f"installing pinned packages from {LOCKS[kind].name} (once)")
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    call([*pip, "--require-hashes", "-r", str(LOCKS[kind])], "installing packages")
    call([*pip, "--no-build-isolation", "--no-deps", "-e", str(HERE)], "installing sillway")
    say("compiling the drive kernel (once)")
    call([str(PYTHON), "-m", "sillway.fit.drive.warm"], "compiling the kernel")
    stamp.write_text(wanted(kind))


def system_tools_for_tests() -> None:
    """Chromium for the page tests and poppler to look at PDFs, from Debian when root."""
    missing = [
        p
        for p, exe in (("chromium", "chromium"), ("poppler-utils", "pdftoppm"))
        if shutil.which(exe) is None
    ]
    if not missing:
        return
    apt = shutil.which("apt-get")
    if apt is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        stop(f"the page tests need {' and '.join(missing)}; install them and run this again")
        return
    say(f"installing {' and '.join(missing)} (once)")
    call([apt, "update", "-qq"], "apt-get update")
    call([apt, "install", "-y", "-qq", "--no-install-recommends", *missing], "apt-get install")


def main(argv: list[str]) -> int:
    if argv[:1] == ["test"]:
        set_up("test")
        system_tools_for_tests()
        args = [str(PYTHON), str(HERE / "tests" / "all.py"), *argv[1:]]
    else:
        set_up("test" if (VENV / "ready-test").exists() else "use")
        args = [str(PYTHON), "-m", "sillway", *(argv or ["demo"])]
    try:
        return subprocess.run(args, check=False).returncode
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
