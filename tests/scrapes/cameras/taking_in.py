"""Taking observations in, and what became of them: shared by the tests of imports."""

from datetime import UTC, datetime

from coop.access.actors import system_actor
from scrapes.cameras.import_services import ImportFormat, ImportRequest, import_observations
from tests.cast import NOW

HUNG_AT = datetime(2025, 10, 1, 17, 0, tzinfo=UTC)
CSV_HEADER = "instant,deployment,observation_id,kind,species,sex\n"


def take(land, place, kind="camtrap-dp", *, actor=None, **options):
    request = ImportRequest(place=place, file_name=place.name, format=ImportFormat(kind), **options)
    return import_observations(
        actor=actor or system_actor("test"), land=land, request=request, now=NOW
    )


def sums(batch):
    return (
        batch.rows_read,
        batch.rows_taken,
        batch.rows_held,
        batch.rows_set_aside,
        sum(count for table in batch.skipped_by_code.values() for count in table.values()),
    )


def keys(deployment):
    return sorted(deployment.observations.values_list("source_key", flat=True))
