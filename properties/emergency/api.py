"""The emergency sheet over HTTP: entered by managers, kept and printed by everybody there."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.preconditions import is_still_the_same
from coop.api.problems import NoPaper
from coop.api.rendering import PAGE_HEADERS, FastJSONRenderer, PageRenderer, PaperRenderer
from coop.api.views import ActorViewSet, DetailViewSet
from coop.printing.paper import to_pdf
from properties.emergency import queries, services
from properties.emergency.models import EmergencySheet, StandEmergency
from properties.emergency.serializers import (
    EmergencySheetChangeSerializer,
    EmergencySheetSerializer,
    SheetSerializer,
    StandEmergencyChangeSerializer,
    StandEmergencySerializer,
)
from properties.emergency.sheet import etag_of_sheet, sheet_of, sheet_page
from properties.land.models import Property
from properties.land.queries import properties_visible_to

_SECONDS_IN_HOUR = 3_600


class EmergencySheetFilter(FilterSet):
    class Meta:
        model = EmergencySheet
        fields = ["property"]


class EmergencySheetViewSet(mixins.ListModelMixin, DetailViewSet):
    """What is entered for a property: road address, ambulance, hospital, kit, keys."""

    tag = "emergencies"
    needs = {
        "list": Action.EMERGENCY_SHEET_READ,
        "retrieve": Action.EMERGENCY_SHEET_READ,
        "create": Action.EMERGENCY_SHEET_WRITE,
        "partial_update": Action.EMERGENCY_SHEET_WRITE,
    }
    serializer_class = EmergencySheetSerializer
    filterset_class = EmergencySheetFilter

    def get_queryset(self) -> QuerySet[EmergencySheet]:
        return queries.sheets_visible_to(actor=self.actor)

    @extend_schema(
        examples=[
            OpenApiExample(
                "A property",
                value={
                    "property": "0193a1c2-0000-7000-8000-000000000003",
                    "road_address": "1180 Ridge Road",
                    "ambulance_directions": "Second lane left after the bridge; gate stands open.",
                    "hospital_name": "Valley Hospital",
                    "hospital_phone": "555-0150",
                    "first_aid_kit": "Red box in the hay barn, left of the door",
                    "key_holders": [{"name": "Max Manager", "phone": "555-0100", "keys": "gates"}],
                    "checked_on": "2025-09-01",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter what helpers have to know of a property (managers); one for each."""
        fields = self.read(EmergencySheetSerializer)
        sheet = services.add_sheet(
            actor=self.actor, land=fields.pop("property"), fields=fields, now=self.now
        )
        return self.answer(sheet, status=201, location=f"/api/v1/emergency-sheets/{sheet.id}/")

    @extend_schema(request=EmergencySheetChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change it (managers; `If-Match` needed)."""
        sheet = self.find(self.get_queryset(), pk)
        changes = self.read(EmergencySheetChangeSerializer, partial=True)
        return self.answer_edit(
            sheet,
            lambda locked: services.change_sheet(
                actor=self.actor, sheet=locked, changes=changes, now=self.now
            ),
        )


class StandEmergencyFilter(FilterSet):
    class Meta:
        model = StandEmergency
        fields = ["stand"]


class StandEmergencyViewSet(mixins.ListModelMixin, DetailViewSet):
    """What differs at one stand: its nearest road, the way from there, its kit."""

    tag = "emergencies"
    needs = {
        "list": Action.EMERGENCY_SHEET_READ,
        "retrieve": Action.EMERGENCY_SHEET_READ,
        "create": Action.EMERGENCY_SHEET_WRITE,
        "partial_update": Action.EMERGENCY_SHEET_WRITE,
    }
    serializer_class = StandEmergencySerializer
    filterset_class = StandEmergencyFilter

    def get_queryset(self) -> QuerySet[StandEmergency]:
        return queries.stand_emergencies_visible_to(actor=self.actor).select_related("stand")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A stand at another road",
                value={
                    "stand": "0193a1c2-0000-7000-8000-000000000004",
                    "road_address": "412 Creek Lane",
                    "ambulance_directions": "From the lane 200 m along the field's edge.",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Enter what differs at a stand (managers)."""
        row = StandEmergency(**self.read(StandEmergencySerializer))
        kept = services.add_stand(actor=self.actor, row=row, now=self.now)
        return self.answer(kept, status=201, location=f"/api/v1/stand-emergencies/{kept.id}/")

    @extend_schema(request=StandEmergencyChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change it (managers; `If-Match` needed)."""
        row = self.find(self.get_queryset(), pk)
        changes = self.read(StandEmergencyChangeSerializer, partial=True)
        return self.answer_edit(
            row,
            lambda locked: services.change_stand(
                actor=self.actor, row=locked, changes=changes, now=self.now
            ),
        )


class PropertyEmergencyViewSet(ActorViewSet):
    """The whole sheet of a property with all its stands."""

    tag = "emergencies"
    needs = {"emergency_sheet": Action.EMERGENCY_SHEET_READ}
    queryset = Property.objects.none()
    serializer_class = SheetSerializer

    @extend_schema(
        responses={
            (200, "application/json"): SheetSerializer,
            (200, "text/html"): OpenApiTypes.STR,
            (200, "application/pdf"): OpenApiTypes.BINARY,
            304: None,
        }
    )
    @action(
        detail=True,
        url_path="emergency-sheet",
        renderer_classes=[FastJSONRenderer, PageRenderer, PaperRenderer],
    )
    def emergency_sheet(self, request: Request, pk: str) -> Response:
        """Cautions, the property and every stand with its coordinates; keep it for no signal.

        A page with `format=html`, the same on paper with `format=pdf`. A device may keep it
        (`Cache-Control: private`) and ask with `If-None-Match` whether it is still the same.
        """
        land = self.find(properties_visible_to(actor=self.actor).select_related("cooperative"), pk)
        self.actor.require(self.needed, land.id)
        sheet = sheet_of(land)
        form = request.accepted_renderer.format if request.accepted_renderer else "json"
        headers = _kept_headers(land, etag_of_sheet(sheet, form=str(form)))
        if is_still_the_same(request, headers["ETag"]):
            return Response(status=304, headers=headers)
        if form == PageRenderer.format:
            page = sheet_page(sheet)
            return Response(page, content_type="text/html; charset=utf-8", headers=headers)
        if form == PaperRenderer.format:
            paper = to_pdf(sheet_page(sheet))
            if paper.pdf is None:
                raise NoPaper(paper.missing_reason)
            headers["Content-Disposition"] = 'inline; filename="emergency-sheet.pdf"'
            return Response(paper.pdf, content_type="application/pdf", headers=headers)
        return Response(SheetSerializer(sheet).data, headers=headers)


def _kept_headers(land: Property, etag: str) -> dict[str, Any]:
    kept_s = int(queries.settings_of(land).sheet_kept_h * _SECONDS_IN_HOUR)
    # Whoever has no signal is shown the last one they have (RFC 5861) rather than nothing.
    kept = f"private, max-age={kept_s}, stale-if-error=2592000"
    return {**PAGE_HEADERS, "Cache-Control": kept, "ETag": etag, "Vary": "Authorization, Accept"}
