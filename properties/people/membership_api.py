"""Memberships and papers over HTTP."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiExample, extend_schema
from rest_framework import mixins, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.fields import VisibleField
from coop.api.views import DetailViewSet
from properties.people import queries, services
from properties.people.models import Member, Paper

PAPER_KIND = r"^[a-z][a-z0-9_]*$"


class MemberSerializer(serializers.ModelSerializer[Member]):
    person = VisibleField(queries.persons_visible_to)
    name = serializers.CharField(source="person.name", read_only=True)
    priority_points = serializers.IntegerField(
        min_value=0,
        max_value=10,
        required=False,
        help_text="Points more for each of their sits when sits are planned, as for youth and "
        "disabled hunters; why is not stored",
    )

    class Meta:
        model = Member
        fields = [
            "id",
            "person",
            "name",
            "joined_on",
            "entitlement_weight",
            "priority_points",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class MemberChangeSerializer(MemberSerializer):
    """A membership stays with its person."""

    person = VisibleField(queries.persons_visible_to, read_only=True)


class PaperSerializer(serializers.ModelSerializer[Paper]):
    person = VisibleField(queries.persons_visible_to)
    kind = serializers.RegexField(
        PAPER_KIND, max_length=40, help_text="Such as licence, hunter_education, waiver"
    )

    class Meta:
        model = Paper
        fields = [
            "id",
            "person",
            "kind",
            "expires_on",
            "confirmed_on",
            "version",
            "created_at",
            "updated_at",
        ]
        read_only_fields = ["id", "version", "created_at", "updated_at"]


class PaperChangeSerializer(PaperSerializer):
    """A paper stays with its person and its kind."""

    person = VisibleField(queries.persons_visible_to, read_only=True)
    kind = serializers.RegexField(PAPER_KIND, read_only=True)


class MemberFilter(django_filters.FilterSet):
    person = django_filters.UUIDFilter(field_name="person_id")

    class Meta:
        model = Member
        fields = ["person"]


class PaperFilter(django_filters.FilterSet):
    person = django_filters.UUIDFilter(field_name="person_id")
    expires_before = django_filters.DateFilter(field_name="expires_on", lookup_expr="lt")

    class Meta:
        model = Paper
        fields = ["person", "kind"]


class MemberViewSet(mixins.ListModelMixin, DetailViewSet):
    """Memberships: since when, and with what share of the season's sits."""

    tag = "people"
    needs = {
        "list": Action.MEMBER_READ,
        "retrieve": Action.MEMBER_READ,
        "create": Action.MEMBER_WRITE,
        "partial_update": Action.MEMBER_WRITE,
    }
    serializer_class = MemberSerializer
    filterset_class = MemberFilter
    search_fields = ["person__name"]

    def get_queryset(self) -> QuerySet[Member]:
        return queries.members_visible_to(actor=self.actor).select_related("person")

    @extend_schema(
        examples=[
            OpenApiExample(
                "One share",
                value={
                    "person": "0193a1c2-0000-7000-8000-000000000002",
                    "joined_on": "2025-03-01",
                    "entitlement_weight": 1,
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Make a person a member (coordinators)."""
        fields = self.read(MemberSerializer)
        member = services.create_member(
            actor=self.actor, person=fields.pop("person"), fields=fields, now=self.now
        )
        return self.answer(member, status=201, location=f"/api/v1/members/{member.id}/")

    @extend_schema(request=MemberChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Change a membership (coordinators; `If-Match` needed)."""
        member = self.find(self.get_queryset(), pk)
        changes = self.read(MemberChangeSerializer, partial=True)
        return self.answer_edit(
            member,
            lambda locked: services.change_member(
                actor=self.actor, member=locked, changes=changes, now=self.now
            ),
        )


class PaperViewSet(mixins.ListModelMixin, DetailViewSet):
    """Papers that expire: one's own and one's guests', and for managers those of their people."""

    tag = "people"
    needs = {
        "list": Action.PERSON_CONTACT,
        "retrieve": Action.PERSON_CONTACT,
        "create": Action.PERSON_WRITE,
        "partial_update": Action.PERSON_WRITE,
    }
    serializer_class = PaperSerializer
    filterset_class = PaperFilter

    def get_queryset(self) -> QuerySet[Paper]:
        return queries.papers_visible_to(actor=self.actor).select_related("person")

    @extend_schema(
        examples=[
            OpenApiExample(
                "A licence",
                value={
                    "person": "0193a1c2-0000-7000-8000-000000000002",
                    "kind": "licence",
                    "expires_on": "2026-02-28",
                    "confirmed_on": "2025-08-01",
                },
                request_only=True,
            )
        ]
    )
    def create(self, request: Request) -> Response:
        """Record a paper that you have seen (managers)."""
        fields = self.read(PaperSerializer)
        paper = services.create_paper(
            actor=self.actor, person=fields.pop("person"), fields=fields, now=self.now
        )
        return self.answer(paper, status=201, location=f"/api/v1/papers/{paper.id}/")

    @extend_schema(request=PaperChangeSerializer(partial=True))
    def partial_update(self, request: Request, pk: str) -> Response:
        """Renew a paper or state when it was confirmed (`If-Match` needed)."""
        paper = self.find(self.get_queryset(), pk)
        changes = self.read(PaperChangeSerializer, partial=True)
        return self.answer_edit(
            paper,
            lambda locked: services.change_paper(
                actor=self.actor, paper=locked, changes=changes, now=self.now
            ),
        )
