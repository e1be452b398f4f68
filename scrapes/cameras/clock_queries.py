"""What imports left behind of pictures whose time cannot be right, by deployment."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from properties.land.models import Property
from scrapes.cameras.models import Deployment, ObservationImport


@dataclass(frozen=True, kw_only=True)
class ClockRows:
    """Rows not taken since their time lies outside; of those by daylight how many at night."""

    outside: int = 0
    daylight: int = 0
    daylight_at_night: int = 0


def clock_rows(
    lands: Iterable[Property],
    deployments: Iterable[Deployment],
    *,
    since: datetime | None = None,
    now: datetime,
) -> Mapping[UUID, ClockRows]:
    """From imports in ``[since, now]``, in one query; deployments without any are left out.

    A file that was read again tells of the same pictures again: of such only the greatest count.
    Where a deployment's dates were corrected so that they hold all the times, nothing is left.
    """
    imports = ObservationImport.objects.filter(property__in=list(lands), imported_at__lte=now)
    if since is not None:
        imports = imports.filter(imported_at__gte=since)
    told = imports.order_by("imported_at", "id").values_list(
        "rows_held", "outside_times", "daylight_told"
    )
    outside: dict[str, int] = defaultdict(int)
    daylight: dict[str, int] = defaultdict(int)
    at_night: dict[str, int] = defaultdict(int)
    hung = {str(row.id): row for row in deployments}
    for held, times, lights in told:
        for name, one in times.items():
            if name not in hung or _holds(hung[name], one):
                continue
            count = int(one["rows"])
            outside[name] = max(outside[name], count) if held else outside[name] + count
        for name, one in lights.items():
            daylight[name] += int(one["rows"])
            at_night[name] += int(one["at_night"])
    return {
        row.id: ClockRows(
            outside=outside[name], daylight=daylight[name], daylight_at_night=at_night[name]
        )
        for name, row in hung.items()
        if name in outside or name in daylight
    }


def _holds(row: Deployment, times: Mapping[str, str]) -> bool:
    first, last = (datetime.fromisoformat(times[side]) for side in ("first_at", "last_at"))
    return row.starts_at <= first and (row.ends_at is None or last <= row.ends_at)
