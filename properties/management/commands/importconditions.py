"""Import conditions of one property from a table."""

from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from coop.access.actors import system_actor
from properties.conditions.condition_rows import COLUMNS, read_conditions
from properties.conditions.services import import_conditions
from properties.management.commands._property import add_property_argument, property_named
from properties.management.commands._reasons import nothing_taken


class Command(BaseCommand):
    help = (
        "Enter thunder, fire danger, water and ice of one property from a CSV table with the "
        f"columns {', '.join(COLUMNS)}. A reference known already is changed in place where it "
        "differs, so the same file may come again. People with sits in the span are told. Ends "
        "with: lines read = entered + changed + over + known already + skipped, with reasons. "
        "Fails where no line of a table that has any can be used."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        add_property_argument(parser)
        parser.add_argument("--source", required=True, help="where the figures are known from")

    def handle(self, *_args: Any, **options: Any) -> None:
        land = property_named(options["property"])
        try:
            table = read_conditions(options["file"].read_text(encoding="utf-8-sig"))
            done = import_conditions(
                actor=system_actor("importconditions"),
                land=land,
                rows=table.rows,
                source=options["source"],
                now=timezone.now(),
            )
        except (OSError, ValueError, ValidationError) as problem:
            raise CommandError(str(problem)) from problem
        reasons = [f"line {one.line} skipped: {one.reason}" for one in table.skipped]
        if reasons and not table.rows:
            raise nothing_taken(f"{options['file']}: no line can be used", reasons)
        for reason in reasons:
            self.stdout.write(reason)
        self.stdout.write(
            f"{len(table.rows) + len(table.skipped)} lines read = {done.entered} entered + "
            f"{done.changed} changed + {done.over} over + {done.known_already} known already + "
            f"{len(table.skipped)} skipped"
        )
