"""Make sure that the demo writes into a database of its own.

A demo of another day is out of date, so it is put aside, whole, and a new one laid out. A
database that holds anybody's own cooperative is never touched.
"""

from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection

from coop.demo.scenario import COOPERATIVE_PREFIX, Calendar
from properties.land.models import Cooperative


class NotADemoDatabase(Exception):
    """The database holds what the demo must leave alone; the message says what and what to do."""


def prepare_database(calendar: Calendar, *, put_aside_in: Path) -> Path | None:
    """Bring the tables up and make room; returns where a demo of another day was put.

    Raises :class:`NotADemoDatabase`.
    """
    call_command("migrate", verbosity=0)
    names = set(Cooperative.objects.values_list("name", flat=True))
    strangers = sorted(name for name in names if not name.startswith(COOPERATIVE_PREFIX))
    if strangers:
        raise NotADemoDatabase(
            f"This database holds {', '.join(strangers)}. The demo wants one of its own: name "
            "another with COOP_DATABASE_URL, or another folder with COOP_VAR_DIR."
        )
    if not names - {calendar.cooperative_name}:
        return None
    if connection.vendor != "sqlite":
        raise NotADemoDatabase(
            "This database holds the demo of another day, whose forecast is past. Empty it, or "
            "name another with COOP_DATABASE_URL."
        )
    connection.close()
    aside = put_aside(Path(settings.DATABASES["default"]["NAME"]), put_aside_in)
    call_command("migrate", verbosity=0)
    return aside


def put_aside(database: Path, folder: Path) -> Path:
    """Move a closed SQLite file with what belongs to it; returns its new place."""
    folder.mkdir(parents=True, exist_ok=True)
    number = 1
    while (place := folder / f"former-{number}.sqlite3").exists():
        number += 1
    for suffix in ("-wal", "-shm", ""):
        part = database.with_name(database.name + suffix)
        if part.exists():
            part.rename(place.with_name(place.name + suffix))
    return place
