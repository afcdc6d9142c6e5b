"""Settings: the environment is read once, here, and nowhere else.

Every variable has a default that runs a shop on one machine. Each comment says why one
would change it.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import tempfile
from datetime import time
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from shop.craft.hosts import of_the_internet

BASE_DIR = Path(__file__).resolve().parent.parent

# Where the database, the secret key and kept files live. Change it to a backed-up disk.
DATA_DIR = Path(os.environ.get("HEELCAP_DATA", BASE_DIR / ".data")).resolve()
DATA_DIR.mkdir(parents=True, exist_ok=True)


def kept_secret(path: Path) -> str:
    """The secret key in ``path``, made on first use and readable by its owner only."""
    if not path.exists():
        # Written whole under another name and linked: of two that start at once, one wins
        # and both read the same key.
        with tempfile.NamedTemporaryFile("w", dir=path.parent) as draft:
            draft.write(secrets.token_urlsafe(64))
            draft.flush()
            with contextlib.suppress(FileExistsError):
                os.link(draft.name, path)
    return path.read_text().strip()


# Set it where several machines serve one shop, so that they trust each other's sign-ins.
SECRET_KEY = os.environ.get("HEELCAP_SECRET_KEY") or kept_secret(DATA_DIR / "secret-key")

# Never on a floor: shows the inside of the program to whoever causes an error.
DEBUG = os.environ.get("HEELCAP_DEBUG", "") == "1"

# What phones call this machine. It is printed into every tag, so choose it once.
ADDRESS = os.environ.get("HEELCAP_ADDRESS", "http://localhost:8000").rstrip("/")
_address = urlsplit(ADDRESS)
if _address.scheme not in {"http", "https"} or not _address.hostname or _address.path:
    raise ImproperlyConfigured(
        f"HEELCAP_ADDRESS is {ADDRESS!r}. Give scheme, name and port only, "
        "as in http://192.168.1.20:8000."
    )
HTTPS = _address.scheme == "https"
# Where https is served by an authority of the shop's own: that authority, and the page over
# plain http by which phones come to trust it. shop/run --lan sets the address of the page.
LAN_DIR = DATA_DIR / "lan"
SIDE_ADDRESS = os.environ.get("HEELCAP_SIDE_ADDRESS", "")

# Set it to "off" where the worker on phones makes trouble: each phone that asks for it then
# removes it, and the pages it kept. What waits on a phone to be sent stays there.
WORKER = os.environ.get("HEELCAP_WORKER", "on") != "off"

ALLOWED_HOSTS = sorted({_address.hostname, "localhost", "127.0.0.1", "[::1]"})

# The wall clock of the shop; moments are stored in UTC whatever it says.
TIME_ZONE = os.environ.get("HEELCAP_TIME_ZONE", "UTC")
USE_TZ = True
# When the list of what is released on the next working day closes: what comes later is one
# more tray for a clerk who has begun to pick.
KITTING_CLOSES = time.fromisoformat(os.environ.get("HEELCAP_KITTING_CLOSES", "14:00"))
# English is the language of the record; each badge has its own for the screens.
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English"), ("es", "Español")]
LANGUAGE_COOKIE_NAME = "language"
LOCALE_PATHS = [BASE_DIR / "shop" / "locale"]
FORMAT_MODULE_PATH = ["shop.locale"]
USE_I18N = True

ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "csp",
    "django_htmx",
    "django_tasks",
    "django_tasks_db",
    "shop.people",
    "shop.catalogue",
    "shop.stock",
    "shop.floor",
    "shop.bench",
    "shop.kitting",
    "shop.inspection",
    "shop.desk",
    "shop.paper",
    "shop.phone",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "shop.people.idle.IdleLock",
    "shop.people.languages.Speaking",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.phone.once.Once",
]

TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.bench.strip.strip",
            ],
        },
    }
]

# DATABASE_URL moves everything to PostgreSQL; without it one file in DATA_DIR is enough
# for a shop of a few hundred people.
_database = os.environ.get("DATABASE_URL", "")
if _database.startswith(("postgres://", "postgresql://")):
    DATABASES: dict[str, Any] = {
        "default": dj_database_url.parse(_database, conn_max_age=None, conn_health_checks=True)
    }
    # Compiling a statement takes PostgreSQL a second where running it takes a millisecond:
    # its guess at small tables joined many times over is far too high.
    _options = DATABASES["default"].setdefault("OPTIONS", {})
    _options["options"] = f"{_options.get('options', '')} -c jit=off".strip()
    # Values travel beside the statement, and one that comes again is prepared: about a
    # third of the work on this side of a record.
    _options.setdefault("server_side_binding", True)
    _options.setdefault("prepare_threshold", 5)
elif _database:
    raise ImproperlyConfigured(
        "DATABASE_URL must start with postgresql://. Leave it out to keep the data "
        f"in one file under {DATA_DIR}."
    )
else:
    DATABASES = {
        "default": {
            "ENGINE": "shop.database",
            "NAME": DATA_DIR / "heelcap.sqlite3",
            "CONN_MAX_AGE": None,
            "OPTIONS": {
                # A recorded step must outlive a power cut: full sync, write-ahead log.
                # IMMEDIATE: a read that turns into a write would be refused at once.
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                "init_command": (
                    "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
                    " PRAGMA cache_size=-64000; PRAGMA temp_store=MEMORY;"
                ),
            },
        }
    }

# What takes longer than a tap: large prints. Kept in the database, so that nothing else has
# to run; see ``shop/paper/working.py`` for who does them.
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
# "start": the shop starts a process whenever there is something to do, and it ends by itself.
# "apart": ``manage.py print_worker --stay`` runs beside the server, as shop/run has it do on
# PostgreSQL. Set it to "apart" where a service of your own does that.
PRINT_WORKER = os.environ.get("HEELCAP_PRINT_WORKER") or (
    "start" if DATABASES["default"]["ENGINE"] == "shop.database" else "apart"
)
if PRINT_WORKER not in {"start", "apart"}:
    raise ImproperlyConfigured(
        f"HEELCAP_PRINT_WORKER is {PRINT_WORKER!r}. Give start or apart, or leave it out."
    )

CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}

AUTH_USER_MODEL = "people.Badge"
AUTHENTICATION_BACKENDS = ["shop.people.badges.BadgeBackend"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [{"NAME": "shop.people.pins.DigitsOnly"}]
LOGIN_URL = "people:sign-in"

# A phone left on a bench belongs to nobody after this long.
IDLE_SECONDS = int(os.environ.get("HEELCAP_IDLE_SECONDS", "180"))
# The session is a signed cookie: nothing is read or written to know who is asking.
SESSION_ENGINE = "django.contrib.sessions.backends.signed_cookies"
SESSION_COOKIE_AGE = 16 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
MESSAGE_STORAGE = "django.contrib.messages.storage.cookie.CookieStorage"
CSRF_TRUSTED_ORIGINS = [ADDRESS]
CSRF_FAILURE_VIEW = "shop.phone.once.no_token"
# A year, the usual length, for a name of the internet. A browser told so goes to no port of
# that name over plain http any more (RFC 6797, 8.3), the page beside the shop included; and a
# name of this network alone means another machine in another shop.
_strict = HTTPS and not SIDE_ADDRESS and of_the_internet(_address.hostname)
SECURE_HSTS_SECONDS = 31_536_000 if _strict else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = _strict
# A proxy that has the certificate says by this header that the phone came by https; without
# it every page would be sent to https for ever. Where none stands in front it is missing.
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        # wasm-unsafe-eval lets the tag reader compile; it allows no script from text.
        "script-src": [SELF, "'wasm-unsafe-eval'"],
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "connect-src": [SELF],
        "media-src": [SELF, "blob:"],
        "font-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "object-src": [NONE],
    }
}

STATIC_URL = "/static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
# Beside the data: two shops on one machine must not share what they serve.
STATIC_ROOT = DATA_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "shop.phone.files.PhoneFiles"},
}
MEDIA_ROOT = DATA_DIR / "kept"
# A photo of a tag from a good phone is 3 to 8 MB.
DATA_UPLOAD_MAX_MEMORY_SIZE = FILE_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024
# Every name of a large print is a field of its own.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2500

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    # An answer of no is an answer, not trouble; only what broke is told.
    "loggers": {"django.request": {"level": "ERROR"}},
}
