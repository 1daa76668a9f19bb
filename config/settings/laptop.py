"""One machine and no servers: SQLite, the file broker, mail as files. The default, and what the demo runs on.

STAIRHEAD_DATA names the folder that holds everything; the secrets are made there at the first start.
"""

import secrets
from pathlib import Path

from .base import *  # noqa: F403
from .base import BASE_DIR, SQLITE_OPTIONS, env
from .broker import file_broker, redis_broker

DATA_DIR = Path(env.str("STAIRHEAD_DATA", str(BASE_DIR / "var" / "laptop")))
DATA_DIR.mkdir(parents=True, exist_ok=True)


def _kept_secret(name: str) -> str:
    """A secret made once and kept beside the data, readable by its owner alone."""
    path = DATA_DIR / name
    if not path.exists():
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(48))
    return path.read_text()


SECRET_KEY = _kept_secret("secret-key")
LINK_SECRET = _kept_secret("link-secret")
ALLOWED_HOSTS = ["127.0.0.1", "localhost", "[::1]"]
DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA_DIR / "stairhead.sqlite3",
        "OPTIONS": SQLITE_OPTIONS,
    }
}
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": DATA_DIR / "cache",
    }
}
MEDIA_ROOT = DATA_DIR / "files"
EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
EMAIL_FILE_PATH = DATA_DIR / "mail"
BEAT_FILE = DATA_DIR / "beat"

REDIS_URL = env.str("REDIS_URL", "")
globals().update(redis_broker(REDIS_URL) if REDIS_URL else file_broker(DATA_DIR / "broker"))
