"""Settings: SQLite and a local runner by default, everything else by one environment variable."""

import os
from datetime import timedelta
from pathlib import Path

import environ

from coop.api.description import DESCRIPTION_SETTINGS
from coop.jobs.lanes import queues
from coop.telemetry.logs import logging_settings

# The arrays here are small: more threads a process only fight each other for the cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = Path(environ.Env().str("COOP_VAR_DIR", default=str(BASE_DIR / "var")))
VAR_DIR.mkdir(parents=True, exist_ok=True)

env = environ.FileAwareEnv()

# `check --deploy` refuses it.
DEMO_SECRET_KEY = "only-for-the-demo-and-the-tests-0123456789-abcdefghijklmnopqrstuvwxyz"  # noqa: S105

DEBUG = env.bool("COOP_DEBUG", default=False)
SECRET_KEY = env.str("COOP_SECRET_KEY", default=DEMO_SECRET_KEY)
# The first seals gate codes and medical notes; the others open what was sealed before it.
SEALING_KEYS = env.list("COOP_SEALING_KEYS", default=[SECRET_KEY])
ALLOWED_HOSTS = env.list("COOP_ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "testserver"])
CSRF_TRUSTED_ORIGINS = env.list("COOP_TRUSTED_ORIGINS", default=[])

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "rest_framework",
    "django_filters",
    "knox",
    "oauth2_provider",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "coop.apps.CoopConfig",
    "properties.apps.PropertiesConfig",
    "scrapes.apps.ScrapesConfig",
    "scheduling.apps.SchedulingConfig",
    "coop.reports.apps.ReportsConfig",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "coop.api.middleware.request_identity",
    "coop.api.middleware.kept_from_caches",
    "coop.api.limits.limit_headers",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "coop.urls"
WSGI_APPLICATION = "coop.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "DIRS": [],
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]

DATABASE_URL = env.str("COOP_DATABASE_URL", default=f"sqlite:///{VAR_DIR / 'coop.sqlite3'}")
DATABASES = {"default": environ.Env.db_url_config(DATABASE_URL)}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # Writers queue up instead of failing, and readers do not wait for them.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
else:
    DATABASES["default"]["CONN_MAX_AGE"] = 60
    DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
# Services open their own transactions; a transaction a request would hold SQLite's write lock.
ATOMIC_REQUESTS = False
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "coop.User"
OAUTH2_PROVIDER_APPLICATION_MODEL = "coop.Application"
KNOX_TOKEN_MODEL = "coop.PersonalToken"  # noqa: S105 - a model
# The library's own token table would stand beside ours, unused, with a foreign key to accounts.
MIGRATION_MODULES = {"knox": None}
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
REST_KNOX = {"TOKEN_TTL": timedelta(days=90), "AUTH_HEADER_PREFIX": "Token"}
OAUTH2_PROVIDER = {
    "SCOPES": {
        "offers": "Read shared properties, their stands, sessions and offers",
        "sits": "Read and cancel the outfitter's own sits and, with offers, book them",
        "webhooks": "Register receivers of events that the other scopes may read",
    },
    "DEFAULT_SCOPES": ["offers"],
    "ACCESS_TOKEN_EXPIRE_SECONDS": 3600,
    # Best current practice (RFC 9700): tokens in the header only and stored as digests.
    "COMPLIANT_BCP_RFC9700_IMPLICIT_GRANT": True,
    "COMPLIANT_BCP_RFC9700_PASSWORD_GRANT": True,
    "COMPLIANT_BCP_RFC9700_PKCE_METHOD": True,
    "COMPLIANT_BCP_RFC9700_ACCESS_TOKEN_TRANSPORT": True,
    "COMPLIANT_BCP_RFC9700_AUTHZ_RESPONSE_ISS": True,
    "COMPLIANT_BCP_RFC9700_TOKEN_STORAGE": True,
    "REFRESH_TOKEN_REUSE_PROTECTION": True,
    "ALLOWED_REDIRECT_URI_SCHEMES": ["https"],
}

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "coop.access.authentication.PersonalTokenAuthentication",
        "coop.access.authentication.ApplicationAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["coop.api.permissions.MayTakeAction"],
    "DEFAULT_RENDERER_CLASSES": ["coop.api.rendering.FastJSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["coop.api.parsing.StrictJSONParser"],
    "DEFAULT_FILTER_BACKENDS": [
        "coop.api.filters.KnownParametersFilter",
        "django_filters.rest_framework.DjangoFilterBackend",
        "coop.api.filters.DeclaredSearchFilter",
    ],
    "DEFAULT_PAGINATION_CLASS": "coop.api.pages.Pages",
    "PAGE_SIZE": 50,
    "DEFAULT_SCHEMA_CLASS": "coop.api.schema.DescribedSchema",
    "EXCEPTION_HANDLER": "coop.api.problems.answer_problem",
    "DEFAULT_THROTTLE_CLASSES": ["coop.api.limits.CallerLimit"],
    # How many proxies in front may be believed when they tell a caller's address.
    "NUM_PROXIES": env.int("COOP_PROXIES", default=0),
    "UNAUTHENTICATED_USER": None,
    "DEFAULT_VERSIONING_CLASS": None,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}

SPECTACULAR_SETTINGS = DESCRIPTION_SETTINGS

REDIS_URL = env.str("COOP_REDIS_URL", default="")
# Two installations that share one Redis need two names, or each would swallow the other's bells.
QUEUE = env.str("COOP_QUEUE", default="coop")
if REDIS_URL:
    CACHES = {
        "default": {
            "BACKEND": "coop.shared_cache.SharedRedisCache",
            "LOCATION": REDIS_URL,
            "KEY_PREFIX": QUEUE,
        }
    }
# Requests a minute: of a person, of an application, and from an address where nobody is known;
# attempts to sign in.
RATE_LIMITS = {"person": 600, "application": 1200, "anonymous": 60, "sign_in": 10} | {
    name: int(quota) for name, quota in env.dict("COOP_RATE_LIMITS", default={}).items()
}
# How long a judged list of offers may be given again while nothing is written; 0 keeps none.
OFFERS_KEPT_SECONDS = env.int("COOP_OFFERS_KEPT_SECONDS", default=600)
CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_TASK_DEFAULT_QUEUE = QUEUE
CELERY_TASK_QUEUES = queues(QUEUE)
CELERY_TASK_IGNORE_RESULT = True
# The row is the truth: a task that dies is delivered again and finds its row.
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_MAX_TASKS_PER_CHILD = 200
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 900,
    "unacked_restore_interval": 2,
    "unacked_restore_throttle": 1,
    # Queues are asked in the order in which they are declared: the urgent one first.
    "queue_order_strategy": "priority",
    # A broker that takes the call and says nothing must not hold a booking up.
    "socket_connect_timeout": 3,
    "socket_timeout": 10,
    # Nor one that is away: whoever rings tries once, since the sweep makes up for it.
    "max_retries": 1,
    "interval_start": 0,
}
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# However long the broker is away, a worker waits for it.
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_TIMEZONE = "UTC"
# A worker renews its lease by itself while it lives, so that another takes over soon after its
# death; a job that reports nothing for longer than the silence is taken for one that hangs.
JOB_LEASE_SECONDS = env.int("COOP_JOB_LEASE_SECONDS", default=15)
JOB_LONGEST_SILENCE_SECONDS = env.int("COOP_JOB_LONGEST_SILENCE_SECONDS", default=900)
JOB_MAX_ATTEMPTS = 5

# For how many days what has ended is kept: answers to idempotency keys, facts handed on, texts
# of letters sent, runs of jobs and their logs.
KEPT_DAYS = {"answers": 30, "facts": 30, "letters": 400, "jobs": 400, "job_logs": 90} | {
    name: int(days) for name, days in env.dict("COOP_KEPT_DAYS", default={}).items()
}

EMAIL_CONFIG = env.email_url("COOP_EMAIL_URL", default="filemail://")
EMAIL_BACKEND = EMAIL_CONFIG["EMAIL_BACKEND"]
EMAIL_HOST = EMAIL_CONFIG.get("EMAIL_HOST") or "localhost"
EMAIL_PORT = EMAIL_CONFIG.get("EMAIL_PORT") or 25
EMAIL_HOST_USER = EMAIL_CONFIG.get("EMAIL_HOST_USER") or ""
EMAIL_HOST_PASSWORD = EMAIL_CONFIG.get("EMAIL_HOST_PASSWORD") or ""
EMAIL_USE_TLS = EMAIL_CONFIG.get("EMAIL_USE_TLS", False)
EMAIL_USE_SSL = EMAIL_CONFIG.get("EMAIL_USE_SSL", False)
# A mail server that hangs must not hold the outbox: the letter is tried again.
EMAIL_TIMEOUT = 20
EMAIL_FILE_PATH = str(VAR_DIR / "mail")
DEFAULT_FROM_EMAIL = env.str("COOP_FROM_EMAIL", default="cooperative@example.org")

# Where readers of letters find this server: links in them begin with it.
BASE_URL = env.str("COOP_BASE_URL", default="http://127.0.0.1:8000").rstrip("/")

# For trying on one machine: events may then go over http and to addresses that are not public.
WEBHOOKS_ALLOW_PRIVATE = env.bool("COOP_WEBHOOKS_ALLOW_PRIVATE", default=False)

WEATHER_USER_AGENT = env.str("COOP_WEATHER_USER_AGENT", default="")

USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en-us"
STATIC_URL = "/static/"
STATIC_ROOT = VAR_DIR / "static"
MEDIA_ROOT = VAR_DIR / "media"
STORAGES = {
    "default": {"BACKEND": "coop.whole_files.WholeFileStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 64 * 1024 * 1024

LOGGING = logging_settings(
    level=env.str("COOP_LOG_LEVEL", default="WARNING"),
    form=env.str("COOP_LOG_FORMAT", default="line"),
)
# Who sends this as a bearer token reads /metrics/; without it nobody does.
METRICS_TOKEN = env.str("COOP_METRICS_TOKEN", default="")

SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"
if env.bool("COOP_BEHIND_TLS", default=False):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
