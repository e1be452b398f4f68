"""Jobs to poll: state, progress, estimate, log, result, who asked."""

from collections.abc import Mapping
from functools import cached_property
from typing import Any

import django_filters
from django.db.models import QuerySet
from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access.roles import Action
from coop.api.filters import FilterSet
from coop.api.views import ActorViewSet
from coop.jobs import log, queries, registry, services
from coop.jobs.estimates import Estimate, estimates_of
from coop.jobs.models import JobLogLine, JobRun, JobState

_GOING = (JobState.QUEUED, JobState.RUNNING)


class JobEstimateSerializer(serializers.Serializer[Any]):
    """From past runs of the same job; no promise."""

    typical_s = serializers.FloatField(help_text="Median time of the last finished runs")
    from_runs = serializers.IntegerField(help_text="How many runs that is, 20 at most")
    remaining_s = serializers.FloatField(help_text="0 where it takes longer than is typical")
    sentence = serializers.CharField()


class JobSerializer(serializers.ModelSerializer[JobRun]):
    title = serializers.CharField(read_only=True, help_text="The name in words")
    asked_for_by = serializers.CharField(
        read_only=True, help_text="Empty where the schedule or a fact asked"
    )
    is_stuck = serializers.SerializerMethodField()
    took_s = serializers.FloatField(read_only=True, allow_null=True)
    estimate = serializers.SerializerMethodField()

    class Meta:
        model = JobRun
        fields = [
            "id",
            "name",
            "title",
            "property_id",
            "period",
            "asked_for_by",
            "state",
            "is_stuck",
            "progress_pct",
            "progress_note",
            "estimate",
            "attempts",
            "result",
            "error",
            "created_at",
            "due_at",
            "started_at",
            "finished_at",
            "took_s",
        ]
        read_only_fields = fields

    def get_is_stuck(self, run: JobRun) -> bool:
        """No sign of life from its worker; another takes it over within a minute."""
        return run.is_stuck(self.context["view"].now)

    @extend_schema_field(JobEstimateSerializer(allow_null=True))
    def get_estimate(self, run: JobRun) -> dict[str, Any] | None:
        view: JobViewSet = self.context["view"]
        found = view.estimates.get(run.name)
        if found is None or run.state not in _GOING:
            return None
        started_at = run.started_at if run.state == JobState.RUNNING else None
        return {
            "typical_s": found.typical_s,
            "from_runs": found.from_runs,
            "remaining_s": found.remaining_s(started_at=started_at, now=view.now),
            "sentence": found.sentence,
        }


class JobLogLineSerializer(serializers.ModelSerializer[JobLogLine]):
    class Meta:
        model = JobLogLine
        fields = ["at", "text"]
        read_only_fields = fields


class StartedJobSerializer(serializers.Serializer[dict[str, str]]):
    """The answer to whatever starts long work."""

    job = serializers.UUIDField(help_text="Poll /api/v1/jobs/{job}/")


def started(run: JobRun) -> Response:
    """202 with the job to poll, in the body and as Location."""
    return Response({"job": run.id}, status=202, headers={"Location": f"/api/v1/jobs/{run.id}/"})


class JobFilter(FilterSet):
    state = django_filters.MultipleChoiceFilter(choices=JobState.choices)
    stuck = django_filters.BooleanFilter(
        method="filter_stuck", help_text="Whose worker gives no sign of life"
    )

    class Meta:
        model = JobRun
        fields = ["name", "state", "property_id"]

    def filter_stuck(self, rows: QuerySet[JobRun], _name: str, wanted: bool) -> QuerySet[JobRun]:
        stuck = queries.stuck_runs(now=timezone.now()).values("id")
        return rows.filter(id__in=stuck) if wanted else rows.exclude(id__in=stuck)


class JobViewSet(mixins.ListModelMixin, mixins.RetrieveModelMixin, ActorViewSet):
    """Long work: rotation, fits, reviews, reports, imports."""

    tag = "jobs"
    needs = {
        "list": Action.JOB_READ,
        "retrieve": Action.JOB_READ,
        "log": Action.JOB_READ,
        "cancel": Action.JOB_START,
    }
    serializer_class = JobSerializer
    filterset_class = JobFilter
    page_order = ("-created_at", "-id")

    def get_queryset(self) -> QuerySet[JobRun]:
        return queries.jobs_visible_to(actor=self.actor).select_related("requested_by")

    @cached_property
    def estimates(self) -> Mapping[str, Estimate]:
        """Of every job, asked for once in a request, however many rows it shows."""
        return estimates_of(registry.job_names(), now=self.now)

    @extend_schema(responses=JobLogLineSerializer(many=True), filters=False)
    @action(detail=True, pagination_class=None)
    def log(self, request: Request, pk: str) -> Response:
        """What the run went through, oldest first; the newest 200 lines are kept."""
        run = self.find(self.get_queryset(), pk)
        return Response(JobLogLineSerializer(log.lines_of(run.id), many=True).data)

    @extend_schema(request=None)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: str) -> Response:
        """Stop a job that is waiting or running; one that is finished stays as it is."""
        run = self.find(self.get_queryset(), pk)
        return self.answer(services.cancel(actor=self.actor, run=run, now=self.now))
