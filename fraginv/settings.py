"""Settings for one machine by default; every environment variable is named here.

FRAGINV_HOME     where database, media, papers and the signing key are kept (``var``)
DATABASE_URL     another database than the SQLite file in the home
FRAGINV_HOST     names under which the pages are served, with commas between
FRAGINV_DEBUG    ``1`` shows technical error pages; never where others can reach it
FRAGINV_PASSWORD the first owner's password, read by ``start`` when it is told of one
"""

import os
from pathlib import Path

import dj_database_url
from django.core.exceptions import ImproperlyConfigured

from fraginv.base.home import signing_key

BASE_DIR = Path(__file__).resolve().parent.parent


def env_flag(name: str) -> bool:
    """Read ``1`` or ``0`` from the environment; refuse anything else."""
    value = os.environ.get(name, "0")
    if value not in {"0", "1"}:
        raise ImproperlyConfigured(f"{name} is {value!r}. Set it to 1 or 0, or leave it out.")
    return value == "1"


FRAGINV_HOME = Path(os.environ.get("FRAGINV_HOME") or BASE_DIR / "var").resolve()
DATABASE_URL = os.environ.get("DATABASE_URL", "")

DEBUG = env_flag("FRAGINV_DEBUG")
SECRET_KEY = signing_key(FRAGINV_HOME)
ALLOWED_HOSTS = os.environ.get("FRAGINV_HOST", "localhost,127.0.0.1,[::1]").split(",")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "lucide",
    "fraginv.base",
    "fraginv.taxa",
    "fraginv.stock",
    "fraginv.growth",
    "fraginv.labels",
    "fraginv.ledger",
    "fraginv.trade",
    "fraginv.costs",
    "fraginv.sheets",
    "fraginv.reports",
    "fraginv.front",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "fraginv.base.middleware.OrganisationMiddleware",
    "fraginv.base.middleware.PlainErrorMiddleware",
    "fraginv.front.middleware.AccessMiddleware",
    "fraginv.base.middleware.PlainTextMiddleware",
    "fraginv.base.middleware.ReplayMiddleware",
]

ROOT_URLCONF = "fraginv.urls"
WSGI_APPLICATION = "fraginv.wsgi.application"
AUTH_USER_MODEL = "base.Person"
LOGIN_URL = "/sign-in"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": False,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "fraginv.base.context.house",
                "fraginv.front.context.navigation",
            ],
            "builtins": ["fraginv.base.templatetags.show"],
            "loaders": [
                (
                    "django.template.loaders.cached.Loader",
                    [
                        "django.template.loaders.filesystem.Loader",
                        "django.template.loaders.app_directories.Loader",
                    ],
                )
            ],
        },
    }
]

SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": (
        "PRAGMA journal_mode=WAL;"
        "PRAGMA synchronous=FULL;"
        "PRAGMA foreign_keys=ON;"
        "PRAGMA recursive_triggers=ON;"
    ),
}

DATABASES = {
    "default": dj_database_url.parse(
        DATABASE_URL or f"sqlite:///{FRAGINV_HOME / 'fraginv.sqlite3'}",
        conn_max_age=600,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"] |= {
        "OPTIONS": SQLITE_OPTIONS,
        "TEST": {"NAME": FRAGINV_HOME / "test.sqlite3"},
    }

STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": FRAGINV_HOME / "media", "base_url": None},
    },
    "private": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": FRAGINV_HOME / "private", "base_url": None},
    },
    "staticfiles": {"BACKEND": "fraginv.base.static.HashedStatic"},
}
STATIC_URL = "/static/"
STATIC_ROOT = FRAGINV_HOME / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]

FILE_UPLOAD_PERMISSIONS = 0o640
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

LANGUAGE_CODE = "en"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = False
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "loggers": {
        "django": {"handlers": ["stderr"], "level": "ERROR", "propagate": False},
        "weasyprint": {"level": "ERROR"},
        "fontTools": {"level": "ERROR"},
    },
    "root": {"handlers": ["stderr"], "level": "WARNING"},
}
