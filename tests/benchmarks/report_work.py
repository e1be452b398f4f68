"""One part of the report benchmark in a process of its own; prints its figures as JSON."""

import gc
import json
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING, Any

import django

if TYPE_CHECKING:
    from properties.land.models import Property

OCTOBER = date(2025, 10, 1)
REPORTS, WARM_UP = 200, 20
PROPERTIES, ALONE = 100, 20


def main(part: str) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coop.settings")
    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0, run_syncdb=True)
    measure: dict[str, Callable[[], dict[str, float]]] = {
        "pages": pages,
        "memory": memory,
        "workers": workers,
    }
    print(json.dumps(measure[part]()))


def pages() -> dict[str, float]:
    from coop.printing.paper import to_pdf
    from coop.reports.figures import month_figures
    from coop.reports.gather import gather
    from coop.reports.pages import write_pages
    from coop.reports.queries import settings_in_force
    from tests.coop.reports.months import AFTER

    rich = _rich_month()
    settings = settings_in_force(rich.land, now=AFTER)

    def read() -> Any:
        return gather(land=rich.land, month=OCTOBER, now=AFTER, settings=settings)

    figures = month_figures(read(), settings)
    made = write_pages(figures, edition=1, changes=[])
    html_ms = _milliseconds(lambda: write_pages(figures, edition=1, changes=[]))
    pdf_ms = _milliseconds(lambda: to_pdf(made.print_html))
    before = _queries(read)
    _ten_times(rich)
    return {
        "report_html_ms": html_ms,
        "report_pdf_ms": pdf_ms,
        "report_queries": before,
        "report_queries_more": _queries(read) - before,
    }


def memory() -> dict[str, float]:
    """Whole reports: read, counted, drawn and put on paper."""
    from coop.printing.paper import to_pdf
    from coop.reports.pages import write_pages
    from coop.reports.services import figures_of
    from tests.coop.reports.months import AFTER

    rich = _rich_month()

    def write() -> None:
        figures = figures_of(land=rich.land, month=OCTOBER, now=AFTER, latest=None)
        to_pdf(write_pages(figures, edition=1, changes=[]).print_html)

    for _number in range(WARM_UP):
        write()
    before = _resident_kib()
    for _number in range(REPORTS - WARM_UP):
        write()
    return {"report_rss_growth_pct": 100 * (_resident_kib() / before - 1)}


def workers() -> dict[str, float]:
    lands = _properties(PROPERTIES + ALONE)
    alone = _time_of_workers(lands[:ALONE], count=1) / ALONE
    together = _time_of_workers(lands[ALONE:], count=2)
    return {
        "report_100_by_2_workers_s": together,
        "report_2_workers_ratio": alone / (together / PROPERTIES),
    }


def _rich_month() -> Any:
    from tests.cast import make_cast
    from tests.coop.reports.months import make_rich_month

    return make_rich_month(make_cast())


def _ten_times(rich: Any) -> None:
    from scheduling.sits.models import Sit
    from scrapes.cameras.models import Observation
    from tests.coop.reports.months import make_report, make_sit

    for sit in list(Sit.objects.filter(state="reported").select_related("stand", "person")):
        for number in range(9):
            day = OCTOBER + timedelta(days=number)
            make_report(make_sit(sit.stand, sit.person, day, "morning"), deer=2)
    Observation.objects.bulk_create(
        [
            _copied(row, f"{row.source_key}-{number}", minutes=number)
            for row in Observation.objects.all()
            for number in range(1, 10)
        ],
        batch_size=500,
    )


def _copied(row: Any, source_key: str, *, minutes: int) -> Any:
    from scrapes.cameras.models import Observation

    values = {
        field.attname: getattr(row, field.attname)
        for field in row._meta.concrete_fields
        if not field.primary_key
    }
    values |= {
        "source_key": source_key,
        "observed_at": row.observed_at + timedelta(minutes=minutes),
    }
    return Observation(**values)


def _properties(count: int) -> list["Property"]:
    """Properties of many small cooperatives, every third with a rich month."""
    from tests.cast import make_cast, make_stand
    from tests.coop.reports.months import make_report, make_rich_month, make_sit

    lands: list[Property] = []
    while len(lands) < count:
        cast = make_cast()
        make_rich_month(cast)
        for land in (cast.south, cast.foreign):
            stand = make_stand(land, "Stand")
            for number in range(12):
                day = OCTOBER + timedelta(days=2 * number)
                make_report(make_sit(stand, cast.other_member, day, "evening"), deer=number % 4)
        lands += [cast.north, cast.south, cast.foreign]
        for cooperative in {land.cooperative for land in lands[-3:]}:
            # Names of cooperatives are their own, and the next cast wants these.
            cooperative.name += f" {len(lands)}"
            cooperative.save()
    return lands[:count]


def _time_of_workers(lands: list["Property"], *, count: int) -> float:
    from django.utils import timezone

    from coop.jobs import services as jobs
    from coop.jobs.models import JobRun
    from coop.reports import month_job

    for land in lands:
        jobs.enqueue(
            name=month_job.NAME,
            now=timezone.now(),
            scope=str(land.id),
            property_id=land.id,
            parameters={"property": str(land.id), "month": f"{OCTOBER:%Y-%m}"},
        )
    manage = Path(__file__).parents[2] / "manage.py"
    began = perf_counter()
    running = [
        subprocess.Popen(
            [sys.executable, str(manage), "runjobs", "--no-schedule"], stdout=subprocess.DEVNULL
        )
        for _number in range(count)
    ]
    failed = [worker.wait() for worker in running if worker.wait()]
    seconds = perf_counter() - began
    undone = JobRun.objects.filter(name=month_job.NAME).exclude(state="done")
    if failed or undone.exists():
        raise RuntimeError(f"workers ended {failed}, {undone.count()} reports were not written")
    return seconds


def _milliseconds(work: Callable[[], Any], *, times: int = 10) -> float:
    taken = []
    for _number in range(times):
        began = perf_counter()
        work()
        taken.append(1000 * (perf_counter() - began))
    return median(taken)


def _queries(work: Callable[[], Any]) -> int:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as captured:
        work()
    return len(captured)


def _resident_kib() -> int:
    """Resident memory now, as the kernel counts it."""
    gc.collect()
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1])
    raise RuntimeError("this system does not tell resident memory")


if __name__ == "__main__":
    main(sys.argv[1])
