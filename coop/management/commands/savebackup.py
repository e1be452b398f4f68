"""Write a backup of the database."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from coop.backups.services import FAILURES, save_backup


class Command(BaseCommand):
    help = (
        "Write a backup of the whole database to one file, while people work: SQLite's online "
        "backup, or pg_dump's custom format. Keep it elsewhere, encrypted: it holds names, "
        "places and who is on which ground when. Ends with what was saved."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("to", type=Path, metavar="FILE", help="an older file is replaced")

    def handle(self, *_args: Any, to: Path, **_options: Any) -> None:
        try:
            saved = save_backup(database=connection.settings_dict, to=to)
        except FAILURES as failed:
            raise CommandError(str(failed)) from None
        self.stdout.write(f"{to}: {len(saved.tables)} tables, {saved.rows} rows")
