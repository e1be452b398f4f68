"""Jobs to poll: state, progress, result."""

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet
from coop.jobs import queries, services
from coop.jobs.models import JobRun, JobState


class JobSerializer(serializers.ModelSerializer[JobRun]):
    class Meta:
        model = JobRun
        fields = [
            "id",
            "name",
            "property_id",
            "period",
            "state",
            "progress_pct",
            "progress_note",
            "attempts",
            "result",
            "error",
            "created_at",
            "started_at",
            "finished_at",
        ]
        read_only_fields = fields


class StartedJobSerializer(serializers.Serializer[dict[str, str]]):
    """The answer to whatever starts long work."""

    job = serializers.UUIDField(help_text="Poll /api/v1/jobs/{job}/")


def started(run: JobRun) -> Response:
    """202 with the job to poll, in the body and as Location."""
    return Response({"job": run.id}, status=202, headers={"Location": f"/api/v1/jobs/{run.id}/"})


class JobFilter(FilterSet):
    state = django_filters.MultipleChoiceFilter(choices=JobState.choices)

    class Meta:
        model = JobRun
        fields = ["name", "state", "property_id"]


class JobViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Long work: rotation, fits, reviews, reports, imports."""

    tag = "jobs"
    needs = {"list": Action.JOB_READ, "retrieve": Action.JOB_READ, "cancel": Action.JOB_START}
    serializer_class = JobSerializer
    filterset_class = JobFilter
    page_order = ("-created_at", "-id")

    def get_queryset(self) -> QuerySet[JobRun]:
        return queries.jobs_visible_to(actor=self.actor)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Stop a job that is waiting or running; one that is finished stays as it is."""
        run = self.find(self.get_queryset(), pk)
        return self.answer(services.cancel(actor=self.actor, run=run, now=self.now))
