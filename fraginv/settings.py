"""Settings for one machine by default; the environment's part is in ``base.environment``."""

import os
import sys
from pathlib import Path
from typing import Any

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from fraginv.base.environment import read_environment
from fraginv.base.errors import FraginvError
from fraginv.base.home import signing_key
from fraginv.base.logs import logging_for
from fraginv.base.rules.environment import Bucket
from fraginv.people.rules.attempts import LOCKED, NAME_LIMIT
from fraginv.people.rules.visits import CREW

BASE_DIR = Path(__file__).resolve().parent.parent

try:
    ENVIRONMENT = read_environment(os.environ)
    FRAGINV_HOME = (ENVIRONMENT.home or BASE_DIR / "var").resolve()
    SECRET_KEY = signing_key(FRAGINV_HOME)
except FraginvError as error:
    raise ImproperlyConfigured(error.message) from error

DEBUG = ENVIRONMENT.debug
ALLOWED_HOSTS = list(ENVIRONMENT.hosts)

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "lucide",
    "axes",
    "csp",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "django_tasks",
    "django_tasks_db",
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
    "fraginv.people",
    "fraginv.upkeep",
    "fraginv.front",
]

MIDDLEWARE = [
    "fraginv.base.middleware.LogMiddleware",
    "fraginv.base.middleware.ProxyMiddleware",
    "fraginv.base.headers.HeadersMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "fraginv.people.middleware.VisitMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "fraginv.base.middleware.OrganisationMiddleware",
    "fraginv.base.middleware.PlainErrorMiddleware",
    "fraginv.base.door.SizeMiddleware",
    "fraginv.front.middleware.BeginMiddleware",
    "fraginv.front.middleware.AccessMiddleware",
    "fraginv.base.middleware.PlainTextMiddleware",
    "fraginv.base.middleware.ReplayMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "fraginv.urls"
WSGI_APPLICATION = "fraginv.wsgi.application"
AUTH_USER_MODEL = "base.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
LOGIN_URL = "/sign-in"
CSRF_FAILURE_VIEW = "fraginv.people.views.changing.refused"

# How many tries, and for how long, says fraginv.people.rules.attempts.
AXES_HANDLER = "fraginv.people.actions.throttling.DoorHandler"
AXES_FAILURE_LIMIT = NAME_LIMIT
AXES_COOLOFF_TIME = LOCKED
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"], "ip_address"]
AXES_LOCKOUT_CALLABLE = "fraginv.people.views.signing.as_answered"
AXES_CLIENT_IP_CALLABLE = "fraginv.people.queries.attempts.address_of"
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # the end that was told stays the end
AXES_DISABLE_ACCESS_LOG = True  # who came when is nobody's business
AXES_VERBOSE = False

OTP_TOTP_SYNC = False  # phones set their own clocks; half a minute either way is enough
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
        # 16 MB for each connection instead of 2, so that a list's index stays in memory.
        "PRAGMA cache_size=-16000;"
    ),
}

DATABASES = {
    "default": dj_database_url.parse(
        ENVIRONMENT.database_url or f"sqlite:///{FRAGINV_HOME / 'fraginv.sqlite3'}",
        conn_max_age=600,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"] |= {
        "OPTIONS": SQLITE_OPTIONS,
        "TEST": {"NAME": FRAGINV_HOME / "test.sqlite3"},
    }
else:
    DATABASES["default"]["OPTIONS"] = {
        "connect_timeout": 10,  # seconds; without it a server that is away is waited for
        **DATABASES["default"].get("OPTIONS", {}),
    }


def kept_in(folder: str, *, bucket: Bucket | None) -> dict[str, Any]:
    """Say where files of one kind are kept: a folder of the home, or of a bucket."""
    if bucket is None:
        place = {"location": FRAGINV_HOME / folder, "base_url": None}
        return {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": place}
    options: dict[str, Any] = {
        "bucket_name": bucket.name,
        "location": folder,
        "endpoint_url": bucket.endpoint or None,
        "region_name": bucket.region or None,
        "file_overwrite": False,
    }
    return {"BACKEND": "fraginv.base.store.Store", "OPTIONS": options}


STORAGES = {
    "default": kept_in("media", bucket=ENVIRONMENT.media),
    "private": kept_in("private", bucket=ENVIRONMENT.media),
    "staticfiles": {"BACKEND": "fraginv.base.static.HashedStatic"},
}
STATIC_URL = "/static/"
STATIC_ROOT = FRAGINV_HOME / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]

FILE_UPLOAD_PERMISSIONS = 0o640
# The whole request is bounded by fraginv.base.door; these bound what is parsed of it.
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000
DATA_UPLOAD_MAX_NUMBER_FILES = 4

PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
PASSWORD_HASHERS += ["django.contrib.auth.hashers.PBKDF2PasswordHasher"]  # made before

TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}

MAIL_IS_SET = ENVIRONMENT.mail is not None
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if MAIL_IS_SET else 'dummy'}.EmailBackend"
DEFAULT_FROM_EMAIL = SERVER_EMAIL = ENVIRONMENT.mail_from
EMAIL_TIMEOUT = 20
if ENVIRONMENT.mail is not None:
    EMAIL_HOST, EMAIL_PORT = ENVIRONMENT.mail.host, ENVIRONMENT.mail.port
    EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = ENVIRONMENT.mail.user, ENVIRONMENT.mail.password
    EMAIL_USE_TLS = ENVIRONMENT.mail.security == "starttls"
    EMAIL_USE_SSL = ENVIRONMENT.mail.security == "tls"

LANGUAGE_CODE = "en"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

AUTH_PASSWORD_VALIDATORS = [{"NAME": "fraginv.base.passwords.GoodPassword"}]

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = ENVIRONMENT.https
if ENVIRONMENT.https:
    # Browsers take a cookie of such a name by HTTPS alone, for this very host and all its paths.
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "__Host-sessionid", "__Host-csrftoken"
    SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]
SESSION_ENGINE = "fraginv.base.sessions"
# How long a visit lasts says fraginv.people.rules.visits; this bounds what is no visit yet.
SESSION_COOKIE_AGE = int(CREW.idle.total_seconds())
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = False
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
        "object-src": [NONE],
    }
}
WHITENOISE_ALLOW_ALL_ORIGINS = False  # no other page needs our files
SILENCED_SYSTEM_CHECKS = [
    # Names below that of the house may belong to others, or be served without HTTPS:
    # whoever owns the whole domain can send the header for it from the reverse proxy.
    "security.W005",
    # The preload list is for whole domains, and the way off it takes months.
    "security.W021",
]
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

LOCAL_MEMORY = "django.core.cache.backends.locmem.LocMemCache"
CACHES = {
    "default": {"BACKEND": LOCAL_MEMORY},
    # A count for each address that looks codes up; a full cache forgets some of them.
    "throttle": {
        "BACKEND": LOCAL_MEMORY,
        "LOCATION": "throttle",
        "OPTIONS": {"MAX_ENTRIES": 50_000},
    },
}

LOGGING = logging_for(ENVIRONMENT.log, at_terminal=sys.stderr.isatty())
