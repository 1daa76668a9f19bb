"""What every installation shares. laptop.py, production.py and test.py add where things are kept."""

from pathlib import Path

import environ
import fontpkg_ibm_plex_sans_condensed
from csp.constants import NONCE, NONE, SELF
from django.utils.translation import gettext_lazy as _

BASE_DIR = Path(__file__).resolve().parent.parent.parent
env = environ.Env()

DEBUG = False
USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = True
LANGUAGE_CODE = "en-us"
LANGUAGES = [("en-us", _("English"))]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
ASGI_APPLICATION = "config.asgi.application"

INSTALLED_APPS = [
    "office",
    "jobs",
    "billing",
    "deliverables",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django.forms",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "crispy_forms",
    "crispy_bootstrap5",
    "django_htmx",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "office.middleware.OfficeMiddleware",
    "office.middleware.AccessMiddleware",
    "office.middleware.RefusalMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "csp.context_processors.nonce",
                "office.context.office",
            ],
        },
    },
]

FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# Sign-in: email and password, throttled by allauth itself; people are invited, nobody signs up.
AUTH_USER_MODEL = "office.Person"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "CommonPasswordValidator")
] + [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    }
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "office:desk"
ACCOUNT_ADAPTER = "office.sign_in.ClosedDoor"
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*", "password2*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes"]
MFA_TOTP_ISSUER = "Stairhead"

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF, NONCE],
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

STATIC_URL = "/static/"
STATICFILES_DIRS = [
    BASE_DIR / "static",
    ("fonts", Path(fontpkg_ibm_plex_sans_condensed.__file__).parent / "files"),
]
WHITENOISE_USE_FINDERS = True

CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"

DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000
FILE_UPLOAD_MAX_MEMORY_SIZE = 1024 * 1024

DEFAULT_FROM_EMAIL = env.str("STAIRHEAD_MAIL_FROM", "office@stairhead.example")
OUTSIDE_ADDRESS = env.str("STAIRHEAD_ADDRESS", "http://127.0.0.1:8000")
"""Where people reach this office; the links in mails and PDFs begin with it."""

CELERY_TASK_ACKS_LATE = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_DEFAULT_QUEUE = "notices"
CELERY_WORKER_POOL = "threads"
CELERY_WORKER_CONCURRENCY = 2
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BEAT_SCHEDULE = {
    "send waiting notices": {"task": "office.tasks.send_waiting_notices", "schedule": 2.0},
    **{
        f"run waiting errands: {queue}": {
            "task": "office.tasks.run_waiting_errands",
            "schedule": 1.0,
            "args": [queue],
            "options": {"queue": queue},
        }
        for queue in ("notices", "plans", "bundles")
    },
    "chores": {"task": "office.tasks.run_chores", "schedule": 300.0},
}

SQLITE_OPTIONS = {
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    # The file broker has no host name, and says so at every nudge.
    "loggers": {"kombu.connection": {"level": "ERROR"}},
}
