"""Long work as a row: the truth about work is here, the broker only rings the bell."""

from datetime import datetime

from django.conf import settings
from django.db import models

from coop.records import Record


class JobState(models.TextChoices):
    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"


class JobRun(Record):
    """One run of a named job, with its lease, attempts, progress and result.

    ``scope`` is the object the job is about (a property's id or a group's), ``period`` what
    it covers (a date, a month, an input's fingerprint). A run with a period exists once for
    each (name, scope, period), so that two schedulers leave one run.
    """

    name = models.CharField(max_length=60)
    scope = models.CharField(max_length=120, blank=True)
    period = models.CharField(max_length=120, null=True, blank=True)  # noqa: DJ001
    property_id = models.UUIDField(null=True, blank=True, db_index=True)
    parameters = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=JobState, default=JobState.QUEUED)
    due_at = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    lease_token = models.UUIDField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    progress_pct = models.PositiveSmallIntegerField(default=0)
    progress_note = models.CharField(max_length=300, blank=True)
    result = models.JSONField(default=dict)
    error = models.TextField(blank=True)
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["name", "scope", "period"],
                condition=models.Q(period__isnull=False),
                name="one_run_for_each_job_and_period",
            ),
            models.CheckConstraint(
                condition=models.Q(progress_pct__lte=100), name="job_progress_at_most_100"
            ),
        ]
        indexes = [
            models.Index(fields=["state", "due_at"], name="job_state_due"),
            models.Index(fields=["name", "finished_at"], name="job_name_finished"),
        ]

    @property
    def title(self) -> str:
        """The name in words: ``wind.compute_fits`` is "Wind: compute fits"."""
        room, _, work = self.name.partition(".")
        return ": ".join(word.replace("_", " ") for word in (room.capitalize(), work) if word)

    @property
    def asked_for_by(self) -> str:
        """Who asked for it; empty where the schedule or a fact did."""
        return self.requested_by.name or self.requested_by.email if self.requested_by else ""

    def is_stuck(self, now: datetime) -> bool:
        """Whether its worker has given no sign of life for longer than its lease."""
        return (
            self.state == JobState.RUNNING
            and self.lease_until is not None
            and self.lease_until < now
        )

    @property
    def took_s(self) -> float | None:
        """Seconds from its last start to its end."""
        if self.started_at is None or self.finished_at is None:
            return None
        return round((self.finished_at - self.started_at).total_seconds(), 1)


class JobLogLine(Record):
    """One line of what a run went through."""

    run = models.ForeignKey(JobRun, on_delete=models.CASCADE, related_name="log_lines")
    at = models.DateTimeField()
    text = models.CharField(max_length=300)
