"""One settings module for demo, real use and tests; what differs comes from the environment (see README.md)."""

import os
import socket
from pathlib import Path
from urllib.parse import urlsplit

from studio.config import environment
from studio.config.database import django_database, places
from studio.config.secrets import installation_secret
from studio.config.storage import file_storage

BASE_DIR = Path(__file__).resolve().parents[2]
ENV = os.environ

# --- this installation -------------------------------------------------------------------------------------------
DATA_DIR = environment.folder(ENV, "STUDIO_DATA", BASE_DIR / ".data")
SECRET_KEY = environment.text(ENV, "SECRET_KEY") or installation_secret(DATA_DIR)
SECRET_KEY_FALLBACKS = environment.words(ENV, "SECRET_KEY_FALLBACKS")
DEBUG = False
# What this process is (web, worker, scheduler or command); only the web process keeps a connection pool.
PROCESS = environment.text(ENV, "STUDIO_PROCESS", "command")
PUBLIC_URL = environment.text(ENV, "PUBLIC_URL", "http://127.0.0.1:8000").rstrip("/")
HTTPS = PUBLIC_URL.startswith("https://")
if not HTTPS and not PUBLIC_URL.startswith("http://"):
    raise environment.BadEnvironment(
        f"PUBLIC_URL is {PUBLIC_URL!r}: write it with https:// (or http://) in front."
    )
# How many proxies of ours stand in front and add to X-Forwarded-For; https is always brought by one.
TRUSTED_PROXIES = environment.whole(ENV, "TRUSTED_PROXIES", int(HTTPS), low=0, high=5)
# This machine itself always, for health checks; everybody else by the name in PUBLIC_URL or in ALLOWED_HOSTS.
ALLOWED_HOSTS = [
    *environment.words(ENV, "ALLOWED_HOSTS"), urlsplit(PUBLIC_URL).hostname or "", "127.0.0.1", "localhost", "[::1]",
]  # fmt: skip

# --- apps --------------------------------------------------------------------------------------------------------
INSTALLED_APPS = [
    "studio.config.apps.ConfigConfig",  # first: its commands override Django's of the same name
    "studio.platform.apps.PlatformConfig",
    "studio.apps.StudioConfig",
    "seamlab.apps.SeamlabConfig",
    "fitting.apps.FittingConfig",
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_filters",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
]

MIDDLEWARE = [
    "studio.platform.web.middleware.HeadersMiddleware",  # first: what it adds is on every answer, errors too
    "studio.platform.web.middleware.RequestIdMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "studio.config.urls"
WSGI_APPLICATION = "studio.config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "studio.platform.web.shell.shell",
            ],
            "builtins": ["django_htmx.templatetags.django_htmx"],
        },
    }
]

# --- database ----------------------------------------------------------------------------------------------------
DATABASE_NAME = environment.text(ENV, "STUDIO_DATABASE_NAME", "studio")
DATABASE = places(ENV, DATA_DIR, SECRET_KEY, DATABASE_NAME)
POOL_SIZE = environment.whole(ENV, "DATABASE_POOL_SIZE", 8, low=1, high=200)
WEB_WORKERS = environment.whole(ENV, "WEB_WORKERS", 1, low=1, high=64)
WORKER_CONCURRENCY = environment.whole(ENV, "WORKER_CONCURRENCY", 1, low=1, high=64)
_POOL = {"min_size": 1, "max_size": POOL_SIZE, "timeout": 10} if PROCESS == "web" else None
DATABASES = {"default": django_database(DATABASE.logins["app"], pool=_POOL)}
if "owner" in DATABASE.logins:
    DATABASES["owner"] = django_database(DATABASE.logins["owner"])
DATABASE_ROUTERS = ["studio.platform.database.router.OwnerMigrates"]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- people ------------------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "platform.User"
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.ScryptPasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [  # and the studios' own names, see studio/platform/passwords.py
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "studio.platform.passwords.NotStretched"},
]
PASSWORD_RESET_TIMEOUT = 2 * 60 * 60
LOGIN_URL = "platform:sign-in"
LOGIN_REDIRECT_URL = "platform:home"
SESSION_ENGINE = "studio.platform.sessions"
SESSION_COOKIE_AGE = 60 * 60 * 12  # a working day, however busy
SESSION_IDLE_SECONDS = 60 * 60 * 4
FRESH_SECONDS = 60 * 10  # so long after a sign-in nobody is asked once more before a dangerous act
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
if HTTPS:  # a browser takes such a name over https alone, for this host alone
    SESSION_COOKIE_NAME = "__Host-sessionid"
    CSRF_COOKIE_NAME = "__Host-csrftoken"
CSRF_FAILURE_VIEW = "studio.platform.web.errors.csrf_failure"
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL]
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
# Other names below this one are not ours to speak for, unless the owner says so.
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = environment.flag(ENV, "HSTS_SUBDOMAINS", default=False)
SECURE_SSL_REDIRECT = HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
# A person is led to https; a program that sends its token in the open is told so (platform/api/base.py).
SECURE_REDIRECT_EXEMPT = [r"^health/", r"^api/"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "font-src": ["'self'"],
        "connect-src": ["'self'"],
        "manifest-src": ["'self'"],
        "form-action": ["'self'"],
        "base-uri": ["'none'"],
        "frame-ancestors": ["'none'"],
    }
}

# --- language and time -------------------------------------------------------------------------------------------
LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

# --- files -------------------------------------------------------------------------------------------------------
STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
WHITENOISE_USE_FINDERS = True  # no collect step: the app serves its own static files from where they lie
WHITENOISE_AUTOREFRESH = False
FILES_DIR = environment.folder(ENV, "STUDIO_FILES", DATA_DIR / "files")
STORAGES = {
    "default": file_storage(ENV, FILES_DIR),
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

# --- mail --------------------------------------------------------------------------------------------------------
EMAIL_HOST = environment.text(ENV, "EMAIL_HOST")
EMAIL_PORT = environment.whole(ENV, "EMAIL_PORT", 587, low=1, high=65535)
EMAIL_HOST_USER = environment.text(ENV, "EMAIL_HOST_USER")
EMAIL_HOST_PASSWORD = environment.text(ENV, "EMAIL_HOST_PASSWORD")
EMAIL_USE_TLS = environment.flag(ENV, "EMAIL_USE_TLS", EMAIL_PORT == 587)
EMAIL_USE_SSL = EMAIL_PORT == 465
EMAIL_TIMEOUT = 30
# Without a mail server letters are written to the console, so that nothing is sent by accident.
EMAIL_BACKEND = environment.text(
    ENV, "EMAIL_BACKEND", f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'console'}.EmailBackend"
)
DEFAULT_FROM_EMAIL = environment.text(ENV, "EMAIL_FROM", EMAIL_HOST_USER or "studio@localhost")

# --- queue: see studio/config/celery.py --------------------------------------------------------------------------
CELERY_BROKER_URL = environment.broker_url(ENV, "CELERY_BROKER_URL")
QUEUES = ("general", "reports")
SIGNS_DIR = DATA_DIR / "signs" / socket.gethostname()  # of this machine
JOB_LEASE_SECONDS = environment.whole(ENV, "JOB_LEASE_SECONDS", 120, low=2, high=3600)
JOB_RESEND_SECONDS = environment.whole(ENV, "JOB_RESEND_SECONDS", 30, low=1, high=3600)
JOB_SWEEP_SECONDS = environment.whole(ENV, "JOB_SWEEP_SECONDS", 10, low=1, high=600)

# How many requests a minute, counted in the database for all web processes together (services/limits.py).
THROTTLE_ANONYMOUS = environment.per_minute(ENV, "THROTTLE_ANONYMOUS", 60)
THROTTLE_SIGNED_IN = environment.per_minute(ENV, "THROTTLE_SIGNED_IN", 1200)

# --- API ---------------------------------------------------------------------------------------------------------
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["studio.platform.api.authentication.HouseAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["studio.platform.api.permissions.Rights"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["studio.platform.api.parsers.HouseJSONParser"],
    "DEFAULT_PAGINATION_CLASS": "studio.platform.api.pagination.NewestFirst",
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_SCHEMA_CLASS": "studio.platform.api.schema.HouseSchema",
    "EXCEPTION_HANDLER": "studio.platform.api.problems.problem_response",
    "PAGE_SIZE": 50,
    "NUM_PROXIES": TRUSTED_PROXIES,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Studio record API",
    "DESCRIPTION": (
        "Bodies, paper, cloth, seams, fittings and reports of one sewing studio. Lengths are millimetres unless a "
        "field says otherwise; typed text such as `97,5 cm` or `38 1/4 in` is accepted where a field is called "
        "`typed`. Errors are `application/problem+json` (RFC 9457)."
    ),
    "VERSION": "1",
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.AllowAny"],
    "SERVE_AUTHENTICATION": [],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    # Two sets of choices that are both called "unit" in their bodies.
    "ENUM_NAME_OVERRIDES": {
        "TapeUnit": "studio.platform.choices.UNITS",
        "FileUnit": "studio.api.transfer_serializers.UNITS",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "studio.platform.api.schema.describe_problems",
    ],
}

# --- figures for whoever watches over the installation ---------------------------------------------------------------
METRICS_ADDRESS = environment.text(ENV, "METRICS_ADDRESS", "")
if METRICS_ADDRESS and not METRICS_ADDRESS.rpartition(":")[2].isdigit():
    raise environment.BadEnvironment("METRICS_ADDRESS must be an address to listen on, like 127.0.0.1:9108.")

# --- logs --------------------------------------------------------------------------------------------------------
LOG_LEVEL = environment.text(ENV, "LOG_LEVEL", "INFO").upper()
LOGGING_CONFIG = "studio.config.logs.configure"
LOGGING = {"level": LOG_LEVEL, "json": environment.flag(ENV, "LOG_JSON", default=False)}

CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
SILENCED_SYSTEM_CHECKS: list[str] = (
    # Whether other names below ours are https too is the owner's to say (HSTS_SUBDOMAINS).
    ["security.W005", "security.W021"]
    if HTTPS
    else [
        # Plain http on this machine alone is how demo and a first serve run; PUBLIC_URL=https://... ends it.
        "security.W004",
        "security.W008",
        "security.W012",
        "security.W016",
    ]
)
