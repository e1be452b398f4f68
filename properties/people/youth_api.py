"""Young hunters over HTTP: for their managers, their hosts, and those who supervise them."""

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import DetailViewSet
from properties.people import youth_services
from properties.people.queries import persons_visible_to
from properties.people.youth_models import YouthRecord


class YouthSerializer(serializers.ModelSerializer[YouthRecord]):
    person = VisibleField(persons_visible_to)
    supervisor = VisibleField(
        persons_visible_to,
        required=False,
        allow_null=True,
        help_text="Who may name them along in a booking; the host of a guest always may",
    )
    other_supervisor = VisibleField(persons_visible_to, required=False, allow_null=True)

    class Meta:
        model = YouthRecord
        fields = [
            "id",
            "person",
            "youth_until",
            "supervisor",
            "other_supervisor",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]
        extra_kwargs = {
            "youth_until": {
                "help_text": "The last day on which they count as a young hunter; which day that "
                "is, your state's rules say"
            }
        }


class YouthChangeSerializer(YouthSerializer):
    """A record stays with its person."""

    person = VisibleField(persons_visible_to, read_only=True)


class YouthViewSet(mixins.ListModelMixin, DetailViewSet):
    """Who counts as a young hunter, until when; no age and no date of birth is kept."""

    tag = "people"
    needs = {
        "list": Action.YOUTH_READ,
        "retrieve": Action.YOUTH_READ,
        "create": Action.YOUTH_WRITE,
        "partial_update": Action.YOUTH_WRITE,
    }
    serializer_class = YouthSerializer

    def get_queryset(self) -> QuerySet[YouthRecord]:
        rows = youth_services.youths_visible_to(actor=self.actor)
        return rows.select_related("person", "supervisor", "other_supervisor")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A member's child",
                value={
                    "person": "0193a1c2-0000-7000-8000-000000000002",
                    "youth_until": "2027-05-31",
                    "supervisor": "0193a1c2-0000-7000-8000-000000000004",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Say that somebody counts as a young hunter (managers)."""
        fields = self.read(YouthSerializer)
        youth = youth_services.create_youth(
            actor=self.actor, person=fields.pop("person"), fields=fields, now=self.now
        )
        return self.answer(youth, status=201, location=f"/api/v1/youths/{youth.id}/")

    @extend_schema(request=YouthChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change until when, or who supervises (managers; `If-Match` needed)."""
        youth = self.find(self.get_queryset(), pk)
        changes = self.read(YouthChangeSerializer, partial=True)
        return self.answer_edit(
            youth,
            lambda locked: youth_services.change_youth(
                actor=self.actor, youth=locked, changes=changes, now=self.now
            ),
        )
