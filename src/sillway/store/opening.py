"""Open the lot's store without a web request: set Django up on a data folder."""

from __future__ import annotations

import os
from pathlib import Path

from sillway.store import keys
from sillway.store.folder import VARIABLE, Folder


def use_folder(path: Path) -> Folder:
    """Make this folder the lot's, with its key and its place for everything, and set Django up."""
    folder = Folder(path.resolve())
    os.environ[VARIABLE] = str(folder.root)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "sillway.web.settings")
    folder.make()
    keys.make_master(folder)
    import django

    django.setup()
    return folder


def open_store(path: Path) -> Folder:
    """``use_folder``, then bring the tables up to date and end interrupted deletions."""
    folder = use_folder(path)
    from django.core.management import call_command

    from sillway.store.doctor import missing_tables
    from sillway.store.persons import finish_destroying

    if missing_tables():
        call_command("migrate", verbosity=0, interactive=False)
    if os.name == "posix":
        folder.database.chmod(0o600)
    finish_destroying()
    return folder
