"""Tests: quick hashes, mail in memory, tasks run by hand. DATABASE_URL chooses PostgreSQL."""

import tempfile
from pathlib import Path

from .base import *  # noqa: F403
from .base import SQLITE_OPTIONS, env
from .broker import file_broker

DATA_DIR = Path(tempfile.mkdtemp(prefix="stairhead-test-"))
SECRET_KEY = "only-for-tests"
LINK_SECRET = "only-for-tests-too"
ALLOWED_HOSTS = ["testserver", "127.0.0.1", "localhost"]
DATABASES = {
    "default": env.db_url("DATABASE_URL")
    if env.str("DATABASE_URL", "")
    else {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA_DIR / "test.sqlite3",
        "OPTIONS": SQLITE_OPTIONS,
        "TEST": {"NAME": DATA_DIR / "test-run.sqlite3"},
    }
}
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
MEDIA_ROOT = DATA_DIR / "files"
BEAT_FILE = DATA_DIR / "beat"
globals().update(file_broker(DATA_DIR / "broker"))
NUDGES = False
