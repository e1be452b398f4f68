"""Drill backup and restore."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from coop.backups.services import FAILURES, drill_backup


class Command(BaseCommand):
    help = (
        "Save a backup, restore it into a scratch database, and compare both table by table: "
        "counts, checksums, indexes, constraints and triggers. Changes nothing. Ends with what "
        "was compared, and fails where anything differs."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        try:
            drill = drill_backup(database=connection.settings_dict)
        except FAILURES as failed:
            raise CommandError(str(failed)) from None
        self.stdout.write(
            f"{len(drill.saved.tables)} tables, {drill.saved.rows} rows, "
            f"{len(drill.saved.guards)} indexes, constraints and triggers; "
            f"backup of {drill.backup_bytes / 2**20:.1f} MiB"
        )
        for sentence in drill.differences:
            self.stderr.write(sentence)
        if drill.differences:
            raise CommandError(f"{len(drill.differences)} differences")
        self.stdout.write("restored counts and checksums are equal")
