"""Settings of the test run: a data folder of its own, quick passwords, plain static files."""

import os
import tempfile

os.environ["TURNWELL_HOME"] = tempfile.mkdtemp(prefix="turnwell-tests-")

from turnwell.web.settings import *  # noqa: F403
from turnwell.web.settings import CHART_PROGRAM, DATABASES, HOME, STATIC_ROOT

STATIC_ROOT.mkdir()
CHART_PROGRAM.mkdir()

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
if "sqlite3" in str(DATABASES["default"]["ENGINE"]):
    # Threads share the test database: a file, since the in-memory one locks whole tables.
    DATABASES["default"]["TEST"] = {"NAME": str(HOME / "test.sqlite3")}
