"""The files a phone keeps for the field pages, and one mark that changes when any of them does."""

import hashlib
from functools import lru_cache
from pathlib import Path
from urllib.parse import urljoin

from django.conf import settings
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.templatetags.static import static

from jobs.views.field_words import field_words

FOLDER, ENTRY = "js/field", "main.js"
MODULES = (
    "check.js", "chooser.js", "dom.js", "draw.js", "home.js", "net.js", "page.js", "photos.js", "store.js", "sync.js",
    "walk.js",
)  # fmt: skip
LINKED = (
    "css/tokens.css", "css/base.css", "css/forms.css", "css/state.css", "css/field.css", "css/field-night.css",
    "icons/stairhead.svg", "icons/field-192.png", "fonts/IBMPlexSansCondensed-Regular.ttf",
    "fonts/IBMPlexSansCondensed-SemiBold.ttf",
)  # fmt: skip


def assets() -> list[str]:
    """Their addresses as the page asks for them: linked files by their published names, modules beside their entry."""
    entry = static(f"{FOLDER}/{ENTRY}")
    return [entry, *(urljoin(entry, name) for name in MODULES), *map(static, LINKED)]


def shell_html() -> str:
    """The shell, without a request: the same for everybody."""
    return render_to_string("jobs/field.html", {"words": field_words()})


def asset_version() -> str:
    """Sixteen hex digits over all that is kept; read anew on each call while developing."""
    if settings.DEBUG:
        _version.cache_clear()
    return _version()


@lru_cache(maxsize=1)
def _version() -> str:
    digest = hashlib.sha256(shell_html().encode())
    digest.update(render_to_string("jobs/field_worker.js", {"assets": assets()}).encode())
    for name in (*(f"{FOLDER}/{module}" for module in (ENTRY, *MODULES)), *LINKED):
        digest.update(Path(_found(name)).read_bytes())
    return digest.hexdigest()[:16]


def _found(name: str) -> str:
    found = finders.find(name)
    if not isinstance(found, str):
        raise FileNotFoundError(f"{name}, which the field pages need, is not among the static files")
    return found
