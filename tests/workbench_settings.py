"""The workbench's settings for tests: a data folder that ends with the run, plain static files."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

_data = Path(tempfile.mkdtemp(prefix="sillway-tests-"))
atexit.register(shutil.rmtree, _data, ignore_errors=True)
os.environ["SILLWAY_DATA"] = str(_data)
os.environ["SILLWAY_STATIC"] = "plain"
# A browser of another test keeps its event loop in this process; the database is asked beside it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

from sillway.store import keys  # noqa: E402
from sillway.store.folder import data_folder  # noqa: E402

data_folder().make()
keys.make_master(data_folder())

from sillway.web.settings import *  # noqa: E402, F403
from sillway.web.settings import DATABASES  # noqa: E402

# A file, as in use; in memory SQLite knows no write-ahead log.
DATABASES["default"].setdefault("TEST", {})["NAME"] = str(_data / "test.sqlite3")
DATABASES["default"]["CONN_MAX_AGE"] = 0
# One tells from a test of its own that passwords are kept with argon2.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
