"""Settings, read from the environment once and checked loudly.

Two modes: ``local`` (the default: one machine, one shop, served on its own address, a secret key kept beside the data) and
``production`` (a server that others reach: secret key, hosts and origins must be given, cookies only over HTTPS).
Code elsewhere never reads the environment.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from csp.constants import NONE, SELF

from finishing.env import SettingError, database_config, env_bool, env_int, env_list, env_path, env_str, env_time_zone
from finishing.secret import local_secret_key

BASE_DIR = Path(__file__).resolve().parent.parent
MODE = env_str("FINISH_LEDGER_MODE", "local", choices=("local", "production"))
LOCAL = MODE == "local"
DEMO = env_bool("FINISH_LEDGER_DEMO", default=False)
DEBUG = env_bool("FINISH_LEDGER_DEBUG", default=False)
TESTING = "pytest" in sys.modules
if DEBUG and not LOCAL:
    raise SettingError(
        "FINISH_LEDGER_DEBUG",
        "true",
        "false or unset in production: error pages would show what the shop keeps private",
    )

# The demo shop lives in a folder of its own, so that trying the program out never meets a real shop's data.
DATA_DIR = env_path("FINISH_LEDGER_DATA_DIR", BASE_DIR / "var" / "demo" if DEMO else BASE_DIR / "var")
OUTPUT_DIR = env_path("FINISH_LEDGER_OUTPUT_DIR", DATA_DIR / "documents")
SECRET_KEY = local_secret_key(
    DATA_DIR, env_str("FINISH_LEDGER_SECRET_KEY", "", min_length=0, secret=True), local=LOCAL, testing=TESTING
)
ALLOWED_HOSTS = env_list("FINISH_LEDGER_HOSTS", ["127.0.0.1", "localhost", "[::1]"] if LOCAL else [])
CSRF_TRUSTED_ORIGINS = env_list("FINISH_LEDGER_ORIGINS", [])
if not LOCAL and not ALLOWED_HOSTS:
    raise SettingError("FINISH_LEDGER_HOSTS", None, "the host names under which people reach the program, separated by commas")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django.forms",
    "axes",
    "csp",
    "django_filters",
    "django_htmx",
    "django_tables2",
    "simple_history",
    "finishing",
    "inventory",
    "costing",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "finishing.middleware.DatabaseReadyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "finishing.middleware.PartOfAPageMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "finishing.show_middleware.PreferencesMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "finishing.urls"
WSGI_APPLICATION = "finishing.wsgi.application"
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
                "finishing.context_processors.house",
            ],
        },
    }
]
FORM_RENDERER = "finishing.renderers.HouseRenderer"
DJANGO_TABLES2_TEMPLATE = "tables/house.html"

# The test database is a file, never memory: a live server and threads share it, and memory databases lock between them.
DATABASES: dict[str, Any] = {
    "default": database_config(
        env_str("DATABASE_URL", f"sqlite:///{DATA_DIR / 'finish-ledger.sqlite3'}"),
        BASE_DIR,
        test_name=env_path("FINISH_LEDGER_TEST_DB", BASE_DIR / "test.sqlite3"),
    )
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "finishing.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "finishing.auth.RoleBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
if TESTING:
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]  # Argon2 takes 0.15 s a sign-in by design
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"
AXES_FAILURE_LIMIT = env_int("FINISH_LEDGER_SIGN_IN_LIMIT", 8, minimum=3, maximum=100)
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_TEMPLATE = "registration/locked_out.html"
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False

LANGUAGE_CODE = "en"
TIME_ZONE = env_time_zone("FINISH_LEDGER_TIME_ZONE", "UTC")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if LOCAL
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = LOCAL
WHITENOISE_AUTOREFRESH = DEBUG

# An upload is a cut list or a price list: a few hundred kilobytes. More is refused before it is read.
UPLOAD_LIMIT = env_int("FINISH_LEDGER_UPLOAD_LIMIT", 2_000_000, minimum=10_000, maximum=50_000_000)
DATA_UPLOAD_MAX_MEMORY_SIZE = UPLOAD_LIMIT + 500_000
FILE_UPLOAD_MAX_MEMORY_SIZE = DATA_UPLOAD_MAX_MEMORY_SIZE
DATA_UPLOAD_MAX_NUMBER_FIELDS = 20_000

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
        "manifest-src": [SELF],
    }
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = False  # htmx sends the token from the page, the cookie stays readable by design of the framework
SESSION_COOKIE_AGE = 60 * 60 * 12
if not LOCAL:
    SECURE_SSL_REDIRECT = env_bool("FINISH_LEDGER_HTTPS_REDIRECT", default=True)
    SECURE_PROXY_SSL_HEADER = (
        ("HTTP_X_FORWARDED_PROTO", "https") if env_bool("FINISH_LEDGER_BEHIND_PROXY", default=False) else None
    )
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
    SECURE_HSTS_SECONDS = env_int("FINISH_LEDGER_HSTS_SECONDS", 31_536_000, minimum=0)
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True

MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
TEST_RUNNER = "finishing.testing.PytestRunner"
LOGGING: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {"django.request": {"handlers": ["console"], "level": "ERROR", "propagate": False}},
}
