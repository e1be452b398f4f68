"""Write the landowners' reports of a month."""

from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from coop.reports import services
from coop.reports.edition_files import file_stems, write_edition_files
from coop.reports.models import MonthlyReport
from coop.reports.periods import month_of
from properties.land.models import Property
from properties.management.commands._property import properties_chosen


class Command(BaseCommand):
    help = (
        "Write the landowner's report of one month for every property, or for one. A month "
        "that was written before and has not been corrected keeps its stored edition; a "
        "correction makes a new edition that says what changed. With --out, the page (HTML), "
        "the paper (PDF, where the system's libraries allow), the managers' appendix (HTML) "
        "and the figures (JSON) are written as files. Ends with what was read and written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--month", required=True, help="the month, as 2025-10")
        parser.add_argument("--property", help="name or id; every property when left out")
        parser.add_argument("--out", type=Path, help="directory for the files; made when missing")

    def handle(self, *_args: Any, **options: Any) -> None:
        try:
            month = month_of(options["month"])
        except ValueError as problem:
            raise CommandError(str(problem)) from problem
        lands = properties_chosen(options["property"])
        stems = file_stems(Property.objects.filter(retired_at=None).values_list("id", "name"))
        counts = {"new": 0, "kept": 0, "files": 0, "skipped": 0}
        without_pdf: set[str] = set()
        for number, land in enumerate(lands, start=1):
            try:
                written = services.write_month(
                    actor=system_actor("writereports"),
                    land=land,
                    month=month,
                    now=timezone.now(),
                )
            except ValidationError as problem:
                counts["skipped"] += 1
                self.stdout.write(f"[{number}/{len(lands)}] {land.name}: {problem.messages[0]}")
                continue
            counts["new" if written.is_new else "kept"] += 1
            if written.report.pdf_missing_reason:
                without_pdf.add(written.report.pdf_missing_reason)
            state = "written" if written.is_new else "unchanged"
            self.stdout.write(
                f"[{number}/{len(lands)}] {land.name}: edition {written.report.edition} {state}"
            )
            if options["out"]:
                counts["files"] += self._write_files(options["out"], stems[land.id], written.report)
        for reason in sorted(without_pdf):
            self.stdout.write(reason)
        self.stdout.write(
            f"{len(lands)} properties read: {counts['new']} editions written, "
            f"{counts['kept']} unchanged, {counts['skipped']} skipped; "
            f"{counts['files']} files."
        )

    def _write_files(self, out: Path, stem: str, report: MonthlyReport) -> int:
        written = write_edition_files(out, stem=f"{stem}-{report.month:%Y-%m}", report=report)
        for place in written:
            self.stdout.write(f"    {place}")
        return len(written)
