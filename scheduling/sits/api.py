"""Sits over HTTP: book, cancel, check in and out, report; a manager marks and excuses."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.actors import ActorKind
from coop.access.roles import Action
from coop.api.preconditions import etag_of
from coop.api.rows import RowListMixin
from coop.api.views import DetailViewSet
from scheduling.sits import (
    booking_services,
    life_services,
    overdue_services,
    queries,
    report_services,
    transfer_services,
)
from scheduling.sits.booked_serializers import BookedSitSerializer
from scheduling.sits.booking_serializers import BookingSerializer
from scheduling.sits.briefing import briefing_of
from scheduling.sits.briefing_serializers import BriefingSerializer, CheckInAnswerSerializer
from scheduling.sits.filters import SitFilter
from scheduling.sits.models import Sit
from scheduling.sits.report_serializers import SitReportInputSerializer, SitReportSerializer
from scheduling.sits.serializers import (
    SIT_ROWS,
    SitReasonSerializer,
    SitSerializer,
    TrackingSerializer,
    TrueTimeSerializer,
)
from scheduling.sits.transfers_api import TransferSitSerializer


class SitViewSet(RowListMixin, DetailViewSet):
    """One's own sits and one's guests'; a manager's property; an outfitter's clients.

    Who else sits is in the roster, with the names that the reader may know.
    """

    tag = "sits"
    needs = {
        "list": Action.SIT_READ,
        "retrieve": Action.SIT_READ,
        "create": Action.SIT_BOOK,
        "cancel": Action.SIT_BOOK,
        "briefing": Action.SIT_READ,
        "check_in": Action.SIT_BOOK,
        "check_out": Action.SIT_BOOK,
        "acknowledge": Action.SIT_BOOK,
        "tracking": Action.SIT_BOOK,
        "transfer": Action.SIT_MANAGE,
        "report": Action.SIT_BOOK,
        "mark_missed": Action.SIT_MANAGE,
        "excuse": Action.SIT_MANAGE,
    }
    serializer_class = SitSerializer
    rows = SIT_ROWS
    filterset_class = SitFilter
    page_order = ("-local_date", "-starts_at", "-id")

    def get_queryset(self) -> QuerySet[Sit]:
        return queries.sits_visible_to(actor=self.actor).select_related(
            "stand", "person", "host", "outfitter", "property__cooperative"
        )

    @extend_schema(
        request=BookingSerializer,
        responses={201: BookedSitSerializer},
        examples=[
            OpenApiExample(
                "An evening",
                value={
                    "stand": "0193a1c2-0000-7000-8000-000000000004",
                    "local_date": "2025-11-08",
                    "span": "evening",
                    "weapon": "bow",
                },
                request_only=True,
            ),
            OpenApiExample(
                "An outfitter's client",
                value={
                    "stand": "0193a1c2-0000-7000-8000-000000000004",
                    "local_date": "2025-11-08",
                    "span": "all_day",
                    "client": {
                        "reference": "C-17",
                        "name": "Ada Long",
                        "emergency_contact_name": "Bo Long",
                        "emergency_contact_phone": "555-0199",
                        "papers": [{"kind": "licence", "expires_on": "2026-06-30"}],
                    },
                },
                request_only=True,
            ),
        ],
    )
    def create(self, request: Request) -> Response:
        """Book a seat. A refusal lists every house rule that objects, with code and sentence."""
        fields = self.read(BookingSerializer)
        sit = self._booked(fields)
        booked = self.find(self.get_queryset(), sit.id)
        shown = BookedSitSerializer(booked, context=self.get_serializer_context()).data
        headers = {"ETag": etag_of(booked), "Location": f"/api/v1/sits/{sit.id}/"}
        return Response(shown, status=201, headers=headers)

    def _booked(self, fields: dict[str, Any]) -> Sit:
        client, overrule = fields.pop("client", None), fields.pop("overrule", None)
        if self.actor.kind is ActorKind.APPLICATION:
            if client is None or overrule or not fields.keys().isdisjoint({"person", "guests"}):
                raise ValidationError({"client": "An outfitter books for one named client."})
            return booking_services.book_for_client(
                actor=self.actor, client=client, now=self.now, **fields
            )
        if client is not None:
            raise ValidationError({"client": "Only an outfitter's application names a client."})
        if overrule is not None:
            overrule = booking_services.Overrule(
                codes=frozenset(overrule["codes"]), reason=overrule["reason"]
            )
        return booking_services.book_sit(
            actor=self.actor, overrule=overrule, now=self.now, **fields
        )

    @extend_schema(request=SitReasonSerializer)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Give a booked seat back, with those of the guests."""
        sit = self.find(self.get_queryset(), pk)
        fields = self.read(SitReasonSerializer)
        return self.answer(
            life_services.cancel_sit(actor=self.actor, sit=sit, now=self.now, **fields)
        )

    @extend_schema(request=TransferSitSerializer)
    @action(detail=True, methods=["post"])
    def transfer(self, request: Request, pk: str) -> Response:
        """Give a booked sit to another member, with a reason (managers); both are told.

        It stays the same sit. The house rules judge the receiver.
        """
        sit = self.find(self.get_queryset(), pk)
        fields = self.read(TransferSitSerializer)
        codes = fields.pop("overrule", None)
        overrule = codes and booking_services.Overrule(
            codes=frozenset(codes), reason=fields["reason"]
        )
        return self.answer(
            transfer_services.transfer_sit(
                actor=self.actor, sit=sit, overrule=overrule, now=self.now, **fields
            )
        )

    @extend_schema(responses=BriefingSerializer)
    @action(detail=True)
    def briefing(self, request: Request, pk: str) -> Response:
        """What is shown at check-in, to read before leaving home: cautions, ways, neighbours."""
        sit = self.find(self.get_queryset(), pk)
        # A sit stays one's own after the role has ended; the map and the neighbours do not.
        self.actor.require(self.needed, sit.property_id)
        return Response(BriefingSerializer(briefing_of(sit, actor=self.actor)).data)

    @extend_schema(request=TrueTimeSerializer, responses=CheckInAnswerSerializer)
    @action(detail=True, methods=["post"], url_path="check-in")
    def check_in(self, request: Request, pk: str) -> Response:
        """Say that you are at the stand, now or with the true time; guests come along.

        The answer holds the stand's cautions. Nothing in it says that the sit is safe. Whose
        role has ended meanwhile is not told the map and the neighbours any more.

        Check-in opens some hours before the session (`sits/check_in_opens_h`) and ends with it:
        at another hour a 409 `not_the_hour` says so, unless the true time is sent as `at`.
        """
        sit = self.find(self.get_queryset(), pk)
        fields = self.read(TrueTimeSerializer)
        sit = life_services.check_in(actor=self.actor, sit=sit, now=self.now, **fields)
        still_there = self.actor.may(Action.SIT_READ, sit.property_id)
        shown = CheckInAnswerSerializer(
            {"sit": sit, "briefing": briefing_of(sit, actor=self.actor) if still_there else None},
            context=self.get_serializer_context(),
        )
        return Response(shown.data, headers={"ETag": etag_of(sit)})

    @extend_schema(request=TrueTimeSerializer)
    @action(detail=True, methods=["post"], url_path="check-out")
    def check_out(self, request: Request, pk: str) -> Response:
        """Say that you are down and away, now or with the true time."""
        sit = self.find(self.get_queryset(), pk)
        fields = self.read(TrueTimeSerializer)
        return self.answer(
            life_services.check_out(actor=self.actor, sit=sit, now=self.now, **fields)
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def acknowledge(self, request: Request, pk: str) -> Response:
        """Answer an overdue notice: somebody knows, and nobody else is asked (also managers)."""
        sit = self.find(self.get_queryset(), pk)
        return self.answer(overdue_services.acknowledge(actor=self.actor, sit=sit, now=self.now))

    @extend_schema(
        request=TrackingSerializer,
        examples=[
            OpenApiExample(
                "Back by nine", value={"back_by": "2025-11-08T21:00:00-06:00"}, request_only=True
            )
        ],
    )
    @action(detail=True, methods=["post"])
    def tracking(self, request: Request, pk: str) -> Response:
        """Say that you are tracking a deer and will be back later; you are asked only then."""
        sit = self.find(self.get_queryset(), pk)
        fields = self.read(TrackingSerializer)
        return self.answer(
            overdue_services.say_back_by(actor=self.actor, sit=sit, now=self.now, **fields)
        )

    @extend_schema(
        request=SitReportInputSerializer,
        responses={201: SitReportSerializer},
        examples=[
            OpenApiExample(
                "Two does, one winded",
                value={
                    "wind_felt_quarters": [{"quarter": 1, "from_deg": 290, "speed_mps": 2.5}],
                    "sightings": [{"sex": "doe", "age_class": "adult", "count": 2}],
                    "alarms": [{"sense": "winded", "count": 1, "distance_m": 60}],
                    "shots": 0,
                },
                request_only=True,
            )
        ],
    )
    @action(detail=True, methods=["post"])
    def report(self, request: Request, pk: str) -> Response:
        """Report a sit; a stand reported unsafe closes at once and its coming sits are told."""
        sit = self.find(self.get_queryset(), pk)
        fields = self.read(SitReportInputSerializer)
        report = report_services.report_sit(
            actor=self.actor,
            sit=sit,
            sightings=fields.pop("sightings", ()),
            alarms=fields.pop("alarms", ()),
            harvests=fields.pop("harvests", ()),
            fields=fields,
            now=self.now,
        )
        location = f"/api/v1/sit-reports/{report.id}/"
        return Response(
            SitReportSerializer(report).data,
            status=201,
            headers={"Location": location, "ETag": etag_of(report)},
        )

    @extend_schema(request=None)
    @action(detail=True, methods=["post"], url_path="mark-missed")
    def mark_missed(self, request: Request, pk: str) -> Response:
        """State that a booked sit did not take place (managers); the clock alone never does."""
        sit = self.find(self.get_queryset(), pk)
        return self.answer(life_services.mark_missed(actor=self.actor, sit=sit, now=self.now))

    @extend_schema(request=SitReasonSerializer)
    @action(detail=True, methods=["post"])
    def excuse(self, request: Request, pk: str) -> Response:
        """Excuse a missed sit, so that it keeps nobody from booking (managers)."""
        sit = self.find(self.get_queryset(), pk)
        fields = self.read(SitReasonSerializer)
        return self.answer(
            life_services.excuse_missed(actor=self.actor, sit=sit, now=self.now, **fields)
        )
