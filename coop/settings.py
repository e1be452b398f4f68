"""Settings: SQLite and a local runner by default, everything else by one environment variable."""

from pathlib import Path

import environ

BASE_DIR = Path(__file__).resolve().parent.parent
VAR_DIR = BASE_DIR / "var"
VAR_DIR.mkdir(exist_ok=True)

env = environ.FileAwareEnv()

DEBUG = env.bool("COOP_DEBUG", default=False)
SECRET_KEY = env.str("COOP_SECRET_KEY", default="only-for-the-demo-and-the-tests-0123456789abcdef")
ALLOWED_HOSTS = env.list("COOP_ALLOWED_HOSTS", default=["localhost", "127.0.0.1", "testserver"])
INSTALLED_APPS: list[str] = []
DATABASES = {"default": {"ENGINE": "django.db.backends.sqlite3", "NAME": VAR_DIR / "coop.sqlite3"}}
USE_TZ = True
TIME_ZONE = "UTC"
