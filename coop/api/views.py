"""What every view of the API shares: the actor, idempotent POSTs, authorised look-ups."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, ClassVar, TypeVar
from uuid import UUID

from django.core.exceptions import ObjectDoesNotExist
from django.db.models import Model, QuerySet
from django.http import HttpResponseBase
from django.utils import timezone
from rest_framework import viewsets
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.actors import ANONYMOUS, Actor
from coop.access.authentication import actor_of
from coop.access.roles import Action
from coop.api.allowed import tell_what_is_allowed
from coop.api.declared import refuse_undeclared_parameters
from coop.api.idempotency import answer_once
from coop.api.instants import refuse_far_instants
from coop.api.members import refuse_misread_members
from coop.api.preconditions import edit_matched, etag_of
from coop.api.problems import InvalidInput, NotFound, Problem, problem_response
from coop.api.sparse import PARAMETER, only_fields
from coop.api.uniqueness import leave_uniqueness_to_the_service
from coop.records import VersionedRecord

Row = TypeVar("Row", bound=Model)
Versioned = TypeVar("Versioned", bound=VersionedRecord)


class ActorViewSet(viewsets.GenericViewSet):
    """A viewset that knows its actor, the instant of the request, and its table rows.

    ``needs`` names for each view action the row of the permission table that it asks for.
    ``open_to_all`` lists view actions for anybody (signing in), ``own_only`` those that
    touch nothing but the caller's own account. A test holds that every view action of
    every route stands in exactly one of the three.
    """

    needs: ClassVar[dict[str, Action]] = {}
    open_to_all: ClassVar[tuple[str, ...]] = ()
    own_only: ClassVar[tuple[str, ...]] = ()
    for_persons: ClassVar[bool] = False
    """Whether it belongs to a person, so that an application is always refused."""
    lookup_value_regex = "[0-9a-fA-F-]{32,36}"

    def dispatch(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if request.method != "POST" or "Idempotency-Key" not in request.headers:
            return super().dispatch(request, *args, **kwargs)
        try:
            return answer_once(
                request, lambda: super(ActorViewSet, self).dispatch(request, *args, **kwargs)
            )
        except Problem as problem:
            return self._render_outside(problem)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        refuse_undeclared_parameters(request, self)

    def finalize_response(
        self, request: Request, response: Any, *args: Any, **kwargs: Any
    ) -> Response:
        asked = request.GET.get(PARAMETER) if request.method == "GET" else None
        if asked is not None and isinstance(response, Response) and response.status_code == 200:
            try:
                response.data = only_fields(response.data, asked)
            except InvalidInput as problem:
                response = problem_response(problem)
        answered: Response = super().finalize_response(request, response, *args, **kwargs)
        return answered

    @property
    def actor(self) -> Actor:
        if getattr(self, "swagger_fake_view", False):
            # The description is made without a request; nobody is asked for a credential.
            return ANONYMOUS
        return actor_of(self.request)

    @property
    def now(self) -> datetime:
        return timezone.now()

    @property
    def needed(self) -> Action:
        """The action of the permission table that this call asks for."""
        return self.needs[self.action]

    def require_somewhere(self) -> None:
        """Refuse whoever may not take this call's action on any property; for what has none."""
        self.actor.require_somewhere(self.needed)

    def find(self, rows: QuerySet[Row], identifier: str | UUID) -> Row:
        """One row of an already narrowed queryset; a stranger's answer is not found."""
        try:
            return rows.get(pk=UUID(str(identifier)))
        except (ValueError, ObjectDoesNotExist):
            raise NotFound("There is no such object, or none that you may see.") from None

    def answer(self, row: Any, *, status: int = 200, location: str | None = None) -> Response:
        """One object through the view's serializer, with its ETag where it has a version."""
        headers = {}
        if isinstance(row, VersionedRecord):
            headers["ETag"] = etag_of(row)
        if location:
            headers["Location"] = location
        return Response(self.get_serializer(row).data, status=status, headers=headers)

    def answer_edit(self, row: Versioned, edit: Callable[[Versioned], Versioned]) -> Response:
        """Answer ``row`` as ``edit`` left it, if the request's ``If-Match`` names its version.

        ``edit`` is given the row locked; check and write are one transaction. Whoever may not
        edit it hears that (403) before :class:`PreconditionRequired` (428) and
        :class:`PreconditionFailed` (412).
        """
        return self.answer(edit_matched(request=self.request, row=row, edit=edit))

    def read(self, serializer_class: type[Any], *, partial: bool = False) -> dict[str, Any]:
        """The request's body through an input serializer; raises a 400 that names each field."""
        serializer = serializer_class(
            data=self.request.data, partial=partial, context=self.get_serializer_context()
        )
        # What is changed was read before, and may come back with all that it said.
        is_change = self.request.method == "PATCH"
        shown = getattr(self.get_serializer(), "fields", ()) if is_change else ()
        tell_what_is_allowed(serializer)
        leave_uniqueness_to_the_service(serializer)
        refuse_misread_members(serializer, shown=shown)
        serializer.is_valid(raise_exception=True)
        values = dict(serializer.validated_data)
        refuse_far_instants(values)
        return values

    def _render_outside(self, problem: Problem) -> HttpResponseBase:
        response = problem_response(problem)
        response.accepted_renderer = JSONRenderer()
        response.accepted_media_type = "application/json"
        response.renderer_context = {}  # type: ignore[attr-defined]
        return response.render()


class DetailViewSet(ActorViewSet):
    """Of what is seen one by one: an object by its id, narrowed by the view's own queryset."""

    # Without a docstring of its own: the description of each route is that of its view.
    def retrieve(self, request: Request, pk: str) -> Response:
        return self.answer(self.find(self.get_queryset(), pk))


def actor_of_view(context: Mapping[str, Any]) -> Actor:
    """The actor in a serializer's context: named there by a job, else whoever asks."""
    if "actor" in context:
        named: Actor = context["actor"]
        return named
    request: Request = context["request"]
    return actor_of(request)
