"""Write the cooperatives' reports of a season."""

from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from coop.reports.edition_files import file_stems, write_edition_files
from coop.reports.models import SeasonReport
from coop.reports.season.services import write_season
from properties.land.models import Cooperative


class Command(BaseCommand):
    help = (
        "Write the report of one season for every cooperative, or for one. A season that was "
        "written before and has not been corrected keeps its stored edition; a correction makes "
        "a new edition that says what changed. With --out, the page (HTML), the paper (PDF, "
        "where the system's libraries allow) and the figures (JSON) are written as files. Ends "
        "with what was read and written."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--season-year", type=int, required=True, help="the year in which it began, as 2025"
        )
        parser.add_argument("--cooperative", help="name of one cooperative; all when left out")
        parser.add_argument("--out", type=Path, help="directory for the files; made when missing")

    def handle(self, *_args: Any, **options: Any) -> None:
        cooperatives = self._cooperatives(options["cooperative"])
        stems = file_stems(Cooperative.objects.values_list("id", "name"))
        counts = {"new": 0, "kept": 0, "skipped": 0, "files": 0}
        for cooperative in cooperatives:
            try:
                written = write_season(
                    actor=system_actor("writeseason"),
                    cooperative=cooperative,
                    season_year=options["season_year"],
                    now=timezone.now(),
                )
            except ValidationError as problem:
                counts["skipped"] += 1
                self.stdout.write(f"{cooperative.name}: {problem.messages[0]}")
                continue
            counts["new" if written.is_new else "kept"] += 1
            state = "written" if written.is_new else "unchanged"
            self.stdout.write(f"{cooperative.name}: edition {written.report.edition} {state}")
            if written.report.pdf_missing_reason:
                self.stdout.write(written.report.pdf_missing_reason)
            if options["out"]:
                counts["files"] += self._write_files(
                    options["out"], stems[cooperative.id], written.report
                )
        self.stdout.write(
            f"{len(cooperatives)} cooperatives read: {counts['new']} editions written, "
            f"{counts['kept']} unchanged, {counts['skipped']} skipped; {counts['files']} files."
        )

    def _cooperatives(self, name: str | None) -> list[Cooperative]:
        rows = Cooperative.objects.order_by("name", "id")
        found = list(rows.filter(name=name) if name else rows)
        if name and not found:
            raise CommandError(f"No cooperative is called “{name}”.")
        return found

    def _write_files(self, out: Path, stem: str, report: SeasonReport) -> int:
        written = write_edition_files(out, stem=f"{stem}-{report.season_year}", report=report)
        for place in written:
            self.stdout.write(f"    {place}")
        return len(written)
