"""Log records that know their request, job and actor; as lines for people or JSON for machines.

Neither form carries a query string, a body, a header or a position: routes are logged by their
pattern, people by kind and id.
"""

import logging
from typing import Any

from django.http import HttpRequest

from coop.telemetry import context

LINE = "%(asctime)s %(levelname)s %(name)s %(message)s [%(request_id)s%(job_id)s %(actor)s]"
JSON_FIELDS = "%(asctime)s %(levelname)s %(name)s %(message)s %(request_id)s %(job_id)s %(actor)s"


class WithIdentity(logging.Filter):
    """Adds ``request_id``, ``job_id`` and ``actor`` to every record; empty where there is none.

    The framework logs addresses: those of calendars hold a secret, queries a position. A
    record's request is left out, and its path is told by the route's pattern.
    """

    def filter(self, record: logging.LogRecord) -> bool:
        request = record.__dict__.pop("request", None)
        if isinstance(record.args, tuple) and request is not None:
            path = getattr(request, "path", None)
            record.args = tuple(
                route_of(request) if argument == path else argument for argument in record.args
            )
        record.request_id = context.request_id.get()
        record.job_id = context.job_id.get()
        record.actor = context.actor.get()
        return True


def route_of(request: HttpRequest) -> str:
    """The pattern of the route that a request took, which holds nobody's values."""
    match = getattr(request, "resolver_match", None)
    return match.route if match else "unknown"


def logging_settings(*, level: str, form: str) -> dict[str, Any]:
    """Django's ``LOGGING``; ``form`` is ``line`` or ``json``. Raises :class:`ValueError`."""
    if form not in ("line", "json"):
        raise ValueError(f"COOP_LOG_FORMAT is 'line' or 'json', not {form!r}")
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "filters": {"identity": {"()": f"{__name__}.WithIdentity"}},
        "formatters": {
            "line": {"format": LINE},
            "json": {
                "()": "pythonjsonlogger.json.JsonFormatter",
                "format": JSON_FIELDS,
                "rename_fields": {"asctime": "at", "levelname": "level", "name": "logger"},
            },
        },
        "handlers": {
            "console": {
                "class": "logging.StreamHandler",
                "formatter": form,
                "filters": ["identity"],
            }
        },
        "loggers": {
            # A request that was refused has its line from coop.requests.
            "django.request": {"level": "ERROR"},
            # Each paper would tell again what its printer might do better on another system.
            "weasyprint": {"level": "ERROR"},
            "fontTools": {"level": "ERROR"},
        },
        "root": {"handlers": ["console"], "level": level},
    }
