"""How many requests a caller may send in a minute, told in the answer's head.

Counts stand in the cache, one window a minute, so that with Redis all processes count
together; without it each process counts for itself. A cache that does not answer lets the
request pass: a limit is a courtesy to the others, not a lock.
"""

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from coop.access.actors import Actor
from coop.access.authentication import actor_of

WINDOW_S = 60
logger = logging.getLogger(__name__)


@dataclass(frozen=True, kw_only=True)
class Allowance:
    """What is left of a window: ``remaining`` requests in the next ``reset_s`` seconds."""

    policy: str
    quota: int
    used: int
    reset_s: int

    @property
    def is_spent(self) -> bool:
        return self.used > self.quota

    @property
    def headers(self) -> dict[str, str]:
        """The fields of the IETF draft "RateLimit header fields for HTTP", version 10."""
        remaining = max(0, self.quota - self.used)
        return {
            "RateLimit-Policy": f'"{self.policy}";q={self.quota};w={WINDOW_S}',
            "RateLimit": f'"{self.policy}";r={remaining};t={self.reset_s}',
        }


def spend(*, policy: str, caller: str, quota: int, now_s: float) -> Allowance:
    """Count one request of ``caller`` in the present window; ``now_s`` in seconds of the epoch."""
    window = int(now_s // WINDOW_S)
    key = f"limit:{policy}:{caller}:{window}"
    try:
        cache.add(key, 0, timeout=2 * WINDOW_S)
        used = cache.incr(key)
    except Exception as error:  # whatever a cache's client raises when its server is away
        logger.warning("the cache does not count requests: %s", type(error).__name__)
        used = 0
    reset_s = (window + 1) * WINDOW_S - int(now_s)
    return Allowance(policy=policy, quota=quota, used=used, reset_s=reset_s)


class CallerLimit(BaseThrottle):
    """One quota for each person, each application, and each address of whoever is unknown."""

    def allow_request(self, request: Request, view: Any) -> bool:
        policy, caller = self.counted(request)
        self.allowance = spend(
            policy=policy,
            caller=caller,
            quota=settings.RATE_LIMITS[policy],
            now_s=time.time(),
        )
        request._request.rate_limit = self.allowance  # type: ignore[attr-defined]
        return not self.allowance.is_spent

    def counted(self, request: Request) -> tuple[str, str]:
        """The policy that holds for a request, and whose count it is."""
        return identity_of(actor_of(request), self.get_ident(request) or "")

    def wait(self) -> float:
        return float(self.allowance.reset_s)


def identity_of(actor: Actor, address: str) -> tuple[str, str]:
    """The name of the policy that holds for an actor, and whose count it is."""
    if actor.is_known:
        return str(actor.kind), actor.id
    return "anonymous", address


def limit_headers(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Tell in each counted answer what is left."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        allowance = getattr(request, "rate_limit", None)
        if isinstance(allowance, Allowance):
            for name, value in allowance.headers.items():
                response[name] = value
        return response

    return middleware


def limited_sign_in(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Hold pages that take a password or a secret to the quota of signing in, by address."""

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method != "POST":
            return view(request, *args, **kwargs)
        allowance = spend(
            policy="sign_in",
            caller=BaseThrottle().get_ident(Request(request)) or "",
            quota=settings.RATE_LIMITS["sign_in"],
            now_s=time.time(),
        )
        if allowance.is_spent:
            return HttpResponse(
                "Too many attempts; wait a minute.\n",
                status=429,
                content_type="text/plain; charset=utf-8",
                headers={"Retry-After": str(allowance.reset_s)},
            )
        return view(request, *args, **kwargs)

    return answer
