"""From a request's credential to an actor."""

from datetime import timedelta
from typing import Any

from django.utils import timezone
from knox.auth import TokenAuthentication
from oauth2_provider.contrib.rest_framework import OAuth2Authentication
from rest_framework.request import Request

from coop.access.actors import ANONYMOUS, Actor, application_actor, person_actor
from coop.access.models import Application, PersonalToken, User
from coop.access.roles import SCOPES, Action
from coop.telemetry import context

LAST_USE_RESOLUTION = timedelta(minutes=5)


class PersonalTokenAuthentication(TokenAuthentication):
    """``Authorization: Token …``; remembers when the token was last used."""

    def validate_user(self, auth_token: PersonalToken) -> Any:
        now = timezone.now()
        last = auth_token.last_used_at
        if last is None or now - last > LAST_USE_RESOLUTION:
            PersonalToken.objects.filter(digest=auth_token.digest).update(last_used_at=now)
        return super().validate_user(auth_token)

    def _cleanup_token(self, auth_token: PersonalToken) -> bool:
        """Whether this token has expired, and then it is gone.

        The library looks at all the account's other tokens too, in a query a request; each of
        those is looked at when it comes itself.
        """
        if auth_token.expiry is None or auth_token.expiry >= timezone.now():
            return False
        auth_token.delete()
        return True


class ApplicationAuthentication(OAuth2Authentication):
    """``Authorization: Bearer …`` with an access token from the client-credentials grant."""

    def authenticate(self, request: Request) -> Any:
        found = super().authenticate(request)
        if found is None:
            return None
        user, token = found
        return user, token


def actor_of(request: Request) -> Actor:
    """The actor behind a request; computed once, then kept on it."""
    known = getattr(request, "_actor", None)
    if known is None:
        known = _actor(request)
        context.actor.set(f"{known.kind}:{known.id}".rstrip(":"))
        request._actor = known  # type: ignore[attr-defined]
    return known


def ask_roles_anew(request: Request) -> None:
    """Let whoever comes next read the caller's roles again: the request itself made them reach
    further."""
    request._actor = None  # type: ignore[attr-defined]


def _actor(request: Request) -> Actor:
    application = getattr(request.auth, "application", None)
    if isinstance(application, Application):
        scopes = str(getattr(request.auth, "scope", "")).split()
        return application_actor(application.id, application.name, _actions_of(scopes))
    if isinstance(request.user, User):
        return person_actor(request.user.id, request.user.name or request.user.email)
    return ANONYMOUS


def _actions_of(scopes: list[str]) -> frozenset[Action]:
    return frozenset().union(*(SCOPES.get(scope, frozenset()) for scope in scopes))
