"""Declared emergencies and medical notes over HTTP."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import Q, QuerySet
from django.utils import timezone
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.problems import NotAllowed
from coop.api.views import ActorViewSet, DetailViewSet
from properties.emergency import queries, services
from properties.emergency.cautions import NO_SUBSTITUTE
from properties.emergency.models import Emergency, NoteReading
from properties.emergency.serializers import (
    EmergencySerializer,
    MedicalNoteSerializer,
    NoteReadingSerializer,
    OwnMedicalNoteSerializer,
    ShownNoteSerializer,
)

NEVER_STORED = {"Cache-Control": "no-store"}


class EmergencyFilter(FilterSet):
    standing = django_filters.BooleanFilter(method="in_force", help_text="true: not yet over")

    class Meta:
        model = Emergency
        fields = ["property"]

    def in_force(self, rows: QuerySet[Emergency], _name: str, value: bool) -> QuerySet[Emergency]:
        standing = Q(ended_at=None, ends_at__gt=timezone.now())
        return rows.filter(standing) if value else rows.exclude(standing)


class EmergencyViewSet(mixins.ListModelMixin, DetailViewSet):
    """Emergencies that somebody declared: the manager's, one's own, those about oneself.

    Declaring one calls nobody: call the local emergency number first.
    """

    tag = "emergencies"
    needs = {
        "list": Action.EMERGENCY_DECLARE,
        "retrieve": Action.EMERGENCY_DECLARE,
        "create": Action.EMERGENCY_DECLARE,
        "end": Action.EMERGENCY_DECLARE,
        "medical_note": Action.EMERGENCY_READ,
    }
    serializer_class = EmergencySerializer
    filterset_class = EmergencyFilter
    page_order = ("-declared_at", "-id")

    def get_queryset(self) -> QuerySet[Emergency]:
        return queries.emergencies_visible_to(actor=self.actor).select_related("property", "person")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A fall",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "person": "0193a1c2-0000-7000-8000-000000000007",
                    "why": "Fell from the ladder; conscious, back pain. Ambulance called.",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Declare an emergency for somebody; call the local emergency number first.

        Managers and coordinators, and whoever is on the property that day for somebody else
        there. The managers and the person are told at once.
        """
        fields = self.read(EmergencySerializer)
        emergency = services.declare(
            actor=self.actor, land=fields.pop("property"), now=self.now, **fields
        )
        return self.answer(emergency, status=201, location=f"/api/v1/emergencies/{emergency.id}/")

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def end(self, request: Request, pk: str) -> Response:
        """It is over: no medical note is shown any more."""
        emergency = self.find(self.get_queryset(), pk)
        return self.answer(services.end(actor=self.actor, emergency=emergency, now=self.now))

    @extend_schema(responses=ShownNoteSerializer)
    @action(detail=True, url_path="medical-note")
    def medical_note(self, request: Request, pk: str) -> Response:
        """The person's own medical note, while the emergency stands; they are told you read it."""
        emergency = self.find(self.get_queryset(), pk)
        text = services.read_note(actor=self.actor, emergency=emergency, now=self.now)
        person = emergency.person
        shown = {
            "person_name": person.name,
            "text": text,
            "emergency_contact_name": person.emergency_contact_name,
            "emergency_contact_phone": person.emergency_contact_phone,
            "caution": NO_SUBSTITUTE,
        }
        return Response(ShownNoteSerializer(shown).data, headers=NEVER_STORED)


class MedicalNoteViewSet(ActorViewSet):
    """One's own medical note: sealed, shown in a declared emergency only, erased at will."""

    tag = "emergencies"
    own_only = ("mine", "set_mine", "erase_mine", "readings")
    serializer_class = OwnMedicalNoteSerializer
    queryset = NoteReading.objects.none()
    page_order = ("-read_at", "-id")

    @extend_schema(responses=OwnMedicalNoteSerializer)
    @action(detail=False)
    def mine(self, request: Request) -> Response:
        """Your note as you wrote it."""
        return self._own(services.own_note(person_id=self._person_id()))

    @extend_schema(
        request=MedicalNoteSerializer,
        responses=OwnMedicalNoteSerializer,
        examples=[
            OpenApiExample(
                "An allergy",
                value={"text": "Allergic to bee stings; pen in the left chest pocket."},
                request_only=True,
            )
        ],
    )
    @mine.mapping.put
    def set_mine(self, request: Request) -> Response:
        """Write your note, in place of the one before. It is your choice to keep one."""
        text = self.read(MedicalNoteSerializer)["text"]
        person_id = self._person_id()
        services.keep_note(actor=self.actor, person_id=person_id, text=text, now=self.now)
        return self._own(services.own_note(person_id=person_id))

    @extend_schema(responses={204: None})
    @mine.mapping.delete
    def erase_mine(self, request: Request) -> Response:
        """Erase your note for good; the record keeps that there was one, and no word of it."""
        services.erase_note(actor=self.actor, person_id=self._person_id(), now=self.now)
        return Response(status=204)

    @extend_schema(responses=NoteReadingSerializer(many=True))
    @action(detail=False, filter_backends=[])
    def readings(self, request: Request) -> Response:
        """Who was shown your note, when and why."""
        page = self.paginate_queryset(queries.readings_of(person_id=self._person_id()))
        return self.get_paginated_response(NoteReadingSerializer(page, many=True).data)

    def _own(self, kept: tuple[str, Any] | None) -> Response:
        text, updated_at = kept or (None, None)
        shown = OwnMedicalNoteSerializer({"text": text, "updated_at": updated_at})
        return Response(shown.data, headers=NEVER_STORED)

    def _person_id(self) -> UUID:
        person_id = self.actor.person_id
        if person_id is None:
            raise NotAllowed("Only persons keep a medical note.")
        return person_id
