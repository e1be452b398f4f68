"""How long a job may take, from how long it took before; no promise."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from django.db.models import F, Window
from django.db.models.functions import RowNumber

from coop.jobs.models import JobRun, JobState

RUNS_ASKED = 20
LOOK_BACK = timedelta(days=90)
"""How many past runs are asked, and how far back. Common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """The median time in seconds of the last finished runs of the same name."""

    typical_s: float
    from_runs: int

    @property
    def sentence(self) -> str:
        if self.from_runs == 1:
            return f"The one run of this job before took {_spoken(self.typical_s)}. No promise."
        return (
            f"The median of the last {self.from_runs} runs of this job is "
            f"{_spoken(self.typical_s)}. No promise."
        )

    def remaining_s(self, *, started_at: datetime | None, now: datetime) -> float:
        """What is left of the typical time; 0 for a run that takes longer than that."""
        elapsed_s = (now - started_at).total_seconds() if started_at else 0.0
        return round(max(0.0, self.typical_s - elapsed_s), 1)


def estimates_of(names: Collection[str], *, now: datetime) -> Mapping[str, Estimate]:
    """An estimate for each name that has finished runs to go by; one query."""
    recent = JobRun.objects.filter(
        name__in=names,
        state=JobState.DONE,
        started_at__isnull=False,
        finished_at__gte=now - LOOK_BACK,
    ).annotate(back=Window(RowNumber(), partition_by=F("name"), order_by=F("finished_at").desc()))
    seconds: dict[str, list[float]] = defaultdict(list)
    rows = recent.filter(back__lte=RUNS_ASKED).values_list("name", "started_at", "finished_at")
    for name, started_at, finished_at in rows:
        assert started_at is not None
        assert finished_at is not None
        seconds[name].append(max(0.0, (finished_at - started_at).total_seconds()))
    return {
        name: Estimate(typical_s=round(median(each), 1), from_runs=len(each))
        for name, each in seconds.items()
    }


def _spoken(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min"
