"""Fill an empty database from a backup."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from coop.backups.services import FAILURES, NotEmpty, restore_backup


class Command(BaseCommand):
    help = (
        "Fill the configured database (COOP_DATABASE_URL), which must be empty, from a file "
        "that savebackup wrote for the same kind of database. Tokens that were revoked since "
        "work again, and messages sent since may be sent again: revoke, and look. Ends with "
        "what was restored."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("backup", type=Path, metavar="FILE")

    def handle(self, *_args: Any, backup: Path, **_options: Any) -> None:
        connection.close()
        try:
            held = restore_backup(backup=backup, database=connection.settings_dict)
        except (NotEmpty, *FAILURES) as failed:
            raise CommandError(str(failed)) from None
        self.stdout.write(f"restored {len(held.tables)} tables, {held.rows} rows")
