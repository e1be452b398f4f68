"""Signing in, and one's own tokens."""

from datetime import datetime
from hashlib import sha256
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access import second_factor, services
from coop.access.models import PersonalToken, User
from coop.api.filters import KnownParametersFilter
from coop.api.limits import CallerLimit
from coop.api.problems import NotAllowed, NotFound, Problem
from coop.api.views import ActorViewSet

CODE_ADVICE = (
    "Take the next code; each is taken once. After five wrong ones wait a minute, then twice as "
    "long each time."
)


class WrongCredentialProblem(Problem):
    status = 401
    code = "wrong_credential"
    title = "E-mail address and password do not belong together"


class SecondFactorNeededProblem(Problem):
    status = 401
    code = "second_factor_needed"
    title = "This account asks for a code beside the password"


class WrongCodeProblem(Problem):
    status = 401
    code = "wrong_code"
    title = "This code does not open the account now"


class SignInLimit(CallerLimit):
    """Counts attempts by e-mail address and by caller's address together."""

    def counted(self, request: Request) -> tuple[str, str]:
        email = str(request.data.get("email", "")) if isinstance(request.data, dict) else ""
        identity = f"{email.lower()}|{self.get_ident(request)}"
        return "sign_in", sha256(identity.encode()).hexdigest()


class SignInSerializer(serializers.Serializer[Any]):
    email = serializers.EmailField()
    password = serializers.CharField(max_length=200, style={"input_type": "password"})
    token_name = serializers.CharField(max_length=100, default="signed in")
    days = serializers.IntegerField(min_value=1, max_value=365, default=30)
    code = serializers.CharField(
        max_length=40,
        default="",
        allow_blank=True,
        help_text="Of the second factor, or a recovery code, where the account asks for one",
    )


class IssuedTokenSerializer(serializers.Serializer[Any]):
    token = serializers.CharField(help_text="Told once. Send as `Authorization: Token …`.")
    name = serializers.CharField()
    expires_at = serializers.DateTimeField()


class TokenSerializer(serializers.ModelSerializer[PersonalToken]):
    id = serializers.CharField(source="token_key")
    expires_at = serializers.DateTimeField(source="expiry")
    created_at = serializers.DateTimeField(source="created")

    class Meta:
        model = PersonalToken
        fields = ["id", "name", "created_at", "expires_at", "last_used_at"]
        read_only_fields = fields


class SignInViewSet(ActorViewSet):
    """From e-mail address and password to a token."""

    tag = "access"
    open_to_all = ("create",)
    permission_classes = [AllowAny]
    throttle_classes = [SignInLimit, CallerLimit]
    serializer_class = SignInSerializer
    queryset = PersonalToken.objects.none()

    @extend_schema(request=SignInSerializer, responses={201: IssuedTokenSerializer}, auth=[])
    def create(self, request: Request) -> Response:
        """Sign in; attempts are limited for each address."""
        fields = self.read(SignInSerializer)
        try:
            row, text = services.sign_in(now=self.now, **fields)
        except services.WrongCredential:
            raise WrongCredentialProblem("Check both and try again.") from None
        except services.SecondFactorNeeded:
            raise SecondFactorNeededProblem("Send `code` as well.") from None
        except second_factor.WrongCode:
            raise WrongCodeProblem(CODE_ADVICE) from None
        return _told_once(text, row.name, row.expiry)


class TokenViewSet(mixins.ListModelMixin, ActorViewSet):
    """One's own personal tokens: named, expiring, revocable at once."""

    tag = "access"
    own_only = ("list", "create", "destroy")
    serializer_class = TokenSerializer
    filter_backends = [KnownParametersFilter]
    pagination_class = None
    lookup_value_regex = "[0-9a-zA-Z]{1,64}"

    def get_queryset(self) -> QuerySet[PersonalToken]:
        user = self.request.user
        if not isinstance(user, User):
            return PersonalToken.objects.none()
        return PersonalToken.objects.filter(user=user).order_by("-created")

    @extend_schema(request=None, responses={201: IssuedTokenSerializer})
    def create(self, request: Request) -> Response:
        """Another token for oneself, valid for 90 days."""
        row, text = services.issue_token(
            user=self._user(), name="made by a token", days=90, now=self.now
        )
        return _told_once(text, row.name, row.expiry)

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, pk: str) -> Response:
        """Revoke a token."""
        token = self.get_queryset().filter(token_key=pk).first()
        if token is None:
            raise NotFound("You have no such token.")
        services.revoke_token(user=self._user(), token=token, now=self.now)
        return Response(status=204)

    def _user(self) -> User:
        user = self.request.user
        if not isinstance(user, User):
            raise NotAllowed("Applications ask for tokens at /oauth/token/.")
        return user


def _told_once(text: str, name: str, expires_at: datetime | None) -> Response:
    """A token's text; no cache and no idempotency key keeps it."""
    body = {"token": text, "name": name, "expires_at": expires_at}
    return Response(body, status=201, headers={"Cache-Control": "no-store"})
