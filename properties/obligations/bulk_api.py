"""Lists of people over HTTP: tried first, then entered whole."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.problems import InvalidInput
from coop.api.views import ActorViewSet
from properties.land.queries import cooperatives_visible_to
from properties.obligations.bulk_rows import MOST_BYTES, BulkKind
from properties.obligations.bulk_services import BulkEntry, enter_bulk


class BulkEntryInputSerializer(serializers.Serializer[Any]):
    cooperative = VisibleField(cooperatives_visible_to)
    kind = serializers.ChoiceField(choices=[(kind.value, kind.value) for kind in BulkKind])
    file = serializers.FileField(
        allow_empty_file=True, help_text="CSV (RFC 4180), UTF-8, with a header"
    )
    dry_run = serializers.BooleanField(
        default=True, help_text="Only say what would be done; send false to enter it"
    )


class BulkFaultSerializer(serializers.Serializer[Any]):
    line = serializers.IntegerField(help_text="Counted from the header's 1")
    column = serializers.CharField(help_text="Empty: the whole line")
    detail = serializers.CharField()


class BulkEntrySerializer(serializers.Serializer[Any]):
    """What became, or would become, of each line; with any fault nothing is entered."""

    read = serializers.IntegerField()
    created = serializers.IntegerField()
    changed = serializers.IntegerField()
    unchanged = serializers.IntegerField()
    faults = BulkFaultSerializer(many=True)
    written = serializers.BooleanField()


class BulkEntryViewSet(ActorViewSet):
    """Papers, dues, work days and members from a table."""

    tag = "people"
    needs = {"create": Action.BULK_ENTRY}
    parser_classes = [MultiPartParser]
    serializer_class = BulkEntryInputSerializer

    @extend_schema(
        request=BulkEntryInputSerializer,
        responses={200: BulkEntrySerializer, 201: BulkEntrySerializer},
    )
    def create(self, request: Request) -> Response:
        """Try or enter a table of a cooperative, all of it or nothing (coordinators).

        Columns: papers `person, kind, expires_on, confirmed_on`; dues `person, season_year,
        amount, currency, due_on, paid_on`; work days `person, property, worked_on, hours,
        what`; members `email, name, phone, joined_on, share, properties`. A person is named by
        address or public id, a property by name or public id, several with semicolons.
        """
        fields = self.read(BulkEntryInputSerializer)
        self.actor.require_in_cooperative(self.needed, fields["cooperative"].id)
        entry = enter_bulk(
            actor=self.actor,
            cooperative=fields["cooperative"],
            kind=BulkKind(fields["kind"]),
            content=fields["file"].read(MOST_BYTES + 1),
            dry_run=fields["dry_run"],
            now=self.now,
        )
        if entry.faults and not fields["dry_run"]:
            raise _held_back(entry)
        return Response(BulkEntrySerializer(entry).data, status=201 if entry.written else 200)


def _held_back(entry: BulkEntry) -> InvalidInput:
    wrong = len({fault.line for fault in entry.faults})
    return InvalidInput(
        f"Nothing was entered: {wrong} of {entry.read} lines cannot be; correct them.",
        errors=[
            {
                "pointer": f"file/{fault.line}/{fault.column}".rstrip("/"),
                "detail": f"line {fault.line}"
                + (f", {fault.column}" if fault.column else "")
                + f": {fault.detail}",
                "code": "invalid",
            }
            for fault in entry.faults
        ],
    )
