"""One's own second factor."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access import second_factor
from coop.access.models import SecondFactor, User
from coop.api.access_api import (
    CODE_ADVICE,
    SignInLimit,
    WrongCodeProblem,
    WrongCredentialProblem,
)
from coop.api.limits import CallerLimit
from coop.api.problems import NotAllowed, Problem
from coop.api.views import ActorViewSet

ISSUER = "Deer cooperative"


class FactorStandsProblem(Problem):
    status = 409
    code = "second_factor_stands"
    title = "This account has a second factor already"


class StateSerializer(serializers.Serializer[Any]):
    confirmed_at = serializers.DateTimeField(allow_null=True, help_text="null: not asked for")
    recovery_codes_left = serializers.IntegerField()


class BegunSerializer(serializers.Serializer[Any]):
    secret = serializers.CharField(help_text="For typing into an app. Told once.")
    address = serializers.CharField(help_text="The same as an `otpauth:` URI, to draw as a code")


class PasswordSerializer(serializers.Serializer[Any]):
    password = serializers.CharField(max_length=200, style={"input_type": "password"})


class CodeSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(max_length=40)


class RecoverySerializer(serializers.Serializer[Any]):
    recovery_codes = serializers.ListField(
        child=serializers.CharField(),
        help_text="Each opens the account once in place of a code. Told once: keep them on paper.",
    )


class CodeLimit(SignInLimit):
    """Counts attempts at a code or password by account."""

    def counted(self, request: Request) -> tuple[str, str]:
        return "sign_in", f"factor:{request.user.pk if request.user else self.get_ident(request)}"


class SecondFactorViewSet(ActorViewSet):
    """A code that changes with time (RFC 6238), asked for beside one's password."""

    tag = "access"
    own_only = ("list", "create", "confirm", "remove")
    for_persons = True
    filter_backends = []
    pagination_class = None
    serializer_class = StateSerializer
    queryset = SecondFactor.objects.none()

    def get_throttles(self) -> Any:
        if self.action in {"create", "confirm", "remove"}:
            return [CodeLimit(), CallerLimit()]
        return super().get_throttles()

    @extend_schema(responses=StateSerializer, operation_id="second_factor_state")
    def list(self, request: Request) -> Response:
        """Whether one's own account asks for a second factor; how many recovery codes are left."""
        factor = SecondFactor.objects.filter(user=self._user()).first()
        state = {
            "confirmed_at": factor and factor.confirmed_at,
            "recovery_codes_left": len(factor.recovery_digests) if factor else 0,
        }
        return Response(StateSerializer(state).data)

    @extend_schema(request=PasswordSerializer, responses={201: BegunSerializer})
    def create(self, request: Request) -> Response:
        """Begin a second factor. It counts once it is confirmed with a first code.

        Takes the password once more, so that a stolen token cannot lock its owner out.
        """
        try:
            begun = second_factor.begin(
                user=self._user(), **self.read(PasswordSerializer), issuer=ISSUER, now=self.now
            )
        except second_factor.WrongPassword:
            raise WrongCredentialProblem("This is not your password.") from None
        except second_factor.FactorStands:
            raise FactorStandsProblem("Remove it before you begin another one.") from None
        return _told_once(vars(begun), status=201)

    @extend_schema(request=CodeSerializer, responses={200: RecoverySerializer})
    @action(detail=False, methods=["post"])
    def confirm(self, request: Request) -> Response:
        """Confirm the factor begun with a code of it; from now on signing in asks for one."""
        try:
            codes = second_factor.confirm(
                user=self._user(), **self.read(CodeSerializer), now=self.now
            )
        except second_factor.WrongCode:
            raise WrongCodeProblem(CODE_ADVICE) from None
        return _told_once({"recovery_codes": codes}, status=200)

    @extend_schema(request=CodeSerializer, responses={204: None})
    @action(detail=False, methods=["post"])
    def remove(self, request: Request) -> Response:
        """No longer ask for a second factor; takes a code of it, or a recovery code."""
        try:
            second_factor.remove(user=self._user(), **self.read(CodeSerializer), now=self.now)
        except second_factor.WrongCode:
            raise WrongCodeProblem(CODE_ADVICE) from None
        return Response(status=204)

    def _user(self) -> User:
        user = self.request.user
        if not isinstance(user, User):
            raise NotAllowed("An application has no second factor.")
        return user


def _told_once(body: dict[str, Any], *, status: int) -> Response:
    return Response(body, status=status, headers={"Cache-Control": "no-store"})
