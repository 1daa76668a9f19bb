"""Servers: everything comes from the environment, and a missing variable stops the start with its name."""

from pathlib import Path

from .base import *  # noqa: F403
from .base import SQLITE_OPTIONS, env
from .broker import redis_broker

SECRET_KEY = env.str("STAIRHEAD_SECRET_KEY")
LINK_SECRET = env.str("STAIRHEAD_LINK_SECRET")
ALLOWED_HOSTS = env.list("STAIRHEAD_HOSTS")
OUTSIDE_ADDRESS = env.str("STAIRHEAD_ADDRESS")
CSRF_TRUSTED_ORIGINS = [OUTSIDE_ADDRESS]
DATA_DIR = Path(env.str("STAIRHEAD_DATA"))
MEDIA_ROOT = DATA_DIR / "files"
BEAT_FILE = DATA_DIR / "beat"
REDIS_URL = env.str("REDIS_URL")

DATABASES = {"default": env.db_url("DATABASE_URL")}
if DATABASES["default"]["ENGINE"].endswith("postgresql"):
    DATABASES["default"]["OPTIONS"] = {"pool": {"min_size": 1, "max_size": 8}}
else:
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
CACHES = {"default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": REDIS_URL}}
globals().update(redis_broker(REDIS_URL))

EMAIL_CONFIG = env.email_url("EMAIL_URL")
globals().update(EMAIL_CONFIG)

SESSION_COOKIE_SECURE = True
CSRF_COOKIE_SECURE = True
SECURE_HSTS_SECONDS = 31_536_000
SECURE_HSTS_INCLUDE_SUBDOMAINS = True
SECURE_HSTS_PRELOAD = True
SECURE_SSL_REDIRECT = env.bool("STAIRHEAD_HTTPS_REDIRECT", True)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_REDIRECT_EXEMPT = [r"^healthz$", r"^readyz$"]
STATIC_ROOT = Path(env.str("STAIRHEAD_STATIC", "/srv/stairhead/static"))
WHITENOISE_USE_FINDERS = False
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
