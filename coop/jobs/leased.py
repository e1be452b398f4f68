"""What a handler is given while its worker holds the run: reports, memory, the lease."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Q
from django.utils import timezone

from coop.jobs import log, pulse
from coop.jobs.models import JobRun, JobState


class JobCancelled(Exception):
    """Raised inside a handler whose run somebody cancelled, or whose lease passed on."""


@dataclass
class LeasedRun:
    """The context given to a handler while this worker holds the run's lease."""

    run_id: UUID
    lease_token: UUID
    parameters: Mapping[str, Any]
    now: datetime
    remembered: Mapping[str, Any] = field(default_factory=dict)
    last_note: str = ""
    last_report_s: float = field(default_factory=time.monotonic)

    def log(self, text: str) -> None:
        log.write(run_id=self.run_id, text=text, at=timezone.now())

    def report(self, progress_pct: int, note: str = "") -> None:
        self.last_report_s = time.monotonic()
        if not self._hold(progress_pct=min(max(progress_pct, 0), 100), progress_note=note[:300]):
            raise JobCancelled
        if note and note != self.last_note:
            self.last_note = note
            self.log(f"{progress_pct} %: {note}")

    def remember(self, **facts: Any) -> None:
        if not self._hold(result=facts):
            raise JobCancelled

    def renew(self) -> bool:
        """Keep the lease, unless it passed on or the handler has reported nothing for too long."""
        silent_s = time.monotonic() - self.last_report_s
        return silent_s < settings.JOB_LONGEST_SILENCE_SECONDS and self._hold()

    def _hold(self, **told: Any) -> bool:
        held = JobRun.objects.filter(
            id=self.run_id, lease_token=self.lease_token, state=JobState.RUNNING
        )
        return bool(held.update(lease_until=timezone.now() + pulse.LEASE, **told))

    def stop_if_superseded(self) -> None:
        """For work whose answer a later run of the same name and scope makes worthless."""
        own = JobRun.objects.get(id=self.run_id)
        due = Q(state=JobState.QUEUED, due_at__lte=timezone.now()) | Q(state=JobState.RUNNING)
        if not JobRun.objects.filter(
            due, name=own.name, scope=own.scope, created_at__gt=own.created_at
        ).exists():
            return
        JobRun.objects.filter(id=own.id, lease_token=self.lease_token).update(
            state=JobState.CANCELLED,
            finished_at=timezone.now(),
            lease_token=None,
            lease_until=None,
            progress_note="superseded by a later run",
        )
        self.log("cancelled: superseded by a later run")
        raise JobCancelled
