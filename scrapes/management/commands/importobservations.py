"""Take observations in from a camera's table or a package."""

import json
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.management.commands._property import property_named
from properties.management.commands._reasons import nothing_taken
from scrapes.cameras.import_services import (
    ImportFormat,
    ImportRequest,
    ImportResult,
    import_observations,
)
from scrapes.cameras.observation_rows import ImportRefused, Reconciliation, RowsRefused


class Command(BaseCommand):
    help = (
        "Take in what cameras saw on one property: a Camtrap DP 1.0 package (folder or zip), or "
        "a CSV with a mapping of its columns. All or nothing, unless --partial; the same content "
        "twice adds nothing, nor do the same rows in another file. A package's deployment is ours "
        "by its code, or by --deployment; with --create-missing one that nobody knows is hung at "
        "the nearest scrape, with --create-scrapes at one named like its location. Rows outside "
        "their deployment's time are not taken. Ends with a reconciliation: read, taken, held "
        "already, set aside, skipped by reason with lines."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="the CSV, the zip, or the package's folder")
        parser.add_argument("--property", required=True, help="name or id of the property")
        parser.add_argument(
            "--format", required=True, choices=[kind.value for kind in ImportFormat]
        )
        parser.add_argument(
            "--source",
            default="",
            help="where the file is from: the name of a kept mapping, or your own words",
        )
        parser.add_argument(
            "--partial", action="store_true", help="take the good rows although others are not"
        )
        parser.add_argument(
            "--create-missing",
            action="store_true",
            help="hang cameras that only the package knows at the nearest scrape",
        )
        parser.add_argument(
            "--create-scrapes",
            action="store_true",
            help="hang them at the scrape named like their location instead, and map it where "
            "there is none",
        )
        parser.add_argument("--zone", help="IANA zone of a CSV's times without offset")
        parser.add_argument(
            "--columns",
            type=Path,
            metavar="JSON_FILE",
            help='what a CSV\'s columns mean, e.g. {"instant": "Date", "clock": "Time", '
            '"pattern": "%%m/%%d/%%Y %%H:%%M:%%S", "deployment": "Camera"}; default: the columns '
            "instant, deployment, kind, species, count, sex, life_stage, individual",
        )
        parser.add_argument(
            "--deployment",
            action="append",
            default=[],
            metavar="NAME=ID",
            help="the file's name for one of our deployments; may be given again",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        file: Path = options["file"]
        try:
            result = import_observations(
                actor=system_actor("importobservations"),
                land=property_named(options["property"]),
                request=ImportRequest(
                    place=file,
                    file_name=file.name,
                    format=ImportFormat(options["format"]),
                    source=options["source"],
                    columns=_columns(options["columns"]),
                    zone=options["zone"],
                    deployments=dict(_named(text) for text in options["deployment"]),
                    strict=not options["partial"],
                    create_missing=options["create_missing"],
                    create_scrapes=options["create_scrapes"],
                ),
                now=timezone.now(),
            )
        except RowsRefused as refused:
            self._print_skipped(refused.accounts)
            hint = "" if options["partial"] else ", or use --partial"
            raise nothing_taken(
                f"{file}: {refused.message} Correct them{hint}.",
                [
                    f"{one.table} line {one.line}: {one.reason}"
                    for account in refused.accounts
                    for one in account.skipped
                ],
            ) from refused
        except ImportRefused as refused:
            raise CommandError(f"{file}: {refused.message}") from refused
        self._print(file, result)

    def _print(self, file: Path, result: ImportResult) -> None:
        batch = result.batch
        if not result.is_new:
            self.stdout.write(
                f"{file}: the same content was imported on {batch.imported_at:%Y-%m-%d %H:%M} "
                "UTC; nothing added."
            )
            return
        self._print_skipped(result.accounts)
        if result.created.deployments:
            self.stdout.write(
                f"Hung {result.created.deployments} deployments that nobody knew, with "
                f"{result.created.cameras} new cameras and {result.created.scrapes} new scrapes."
            )
        skipped = result.accounts[-1].skipped_count
        self.stdout.write(
            f"{file}: {batch.rows_read} observations read = {batch.rows_taken} taken "
            f"+ {batch.rows_held} held already + {batch.rows_set_aside} set aside "
            f"+ {skipped} skipped."
        )

    def _print_skipped(self, accounts: tuple[Reconciliation, ...]) -> None:
        for account in accounts:
            for one in account.skipped:
                self.stdout.write(f"skipped  {one.table} line {one.line}: {one.reason}")
            for code, count in sorted(account.skipped_by_code.items()):
                self.stdout.write(f"skipped  {account.table}: {count} by {code}")


def _columns(place: Path | None) -> dict[str, Any] | None:
    if place is None:
        return None
    try:
        columns = json.loads(place.read_text(encoding="utf-8"))
    except (OSError, ValueError) as problem:
        raise CommandError(f"{place}: {problem}") from problem
    if not isinstance(columns, dict):
        raise CommandError(f"{place}: must be a JSON object")
    return columns


def _named(text: str) -> tuple[str, UUID]:
    name, _equals, written = text.rpartition("=")
    try:
        return name, UUID(written)
    except ValueError:
        raise CommandError(f"--deployment {text}: must be NAME=ID with a public id") from None
