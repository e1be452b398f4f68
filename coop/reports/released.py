"""Incidents that managers released, as rows of a landowner's report.

The incident is the one truth: nothing is copied into notes, and what is taken back is gone
from the next edition.
"""

from collections.abc import Iterator

from coop.reports.models import NoteTopic
from coop.reports.periods import Period
from coop.reports.rows import NoteRow
from properties.incidents.models import IncidentKind
from properties.incidents.queries import told_of_properties
from properties.incidents.words import reported_words
from properties.land.models import Property
from properties.sessions.local_time import local_date_of

_TOPIC_OF = {
    IncidentKind.OPEN_GATE: NoteTopic.GATE,
    IncidentKind.DAMAGE: NoteTopic.DAMAGE,
}


def topic_of(kind: str) -> NoteTopic:
    """Under which of a report's headings a kind of incident stands."""
    return _TOPIC_OF.get(IncidentKind(kind), NoteTopic.INCIDENT)


def released_notes(land: Property, period: Period) -> Iterator[NoteRow]:
    """Kind, day and what was done; what was reported stays in the log."""
    rows = told_of_properties(property_ids=[land.id]).filter(
        happened_at__gte=period.starts_at, happened_at__lt=period.ends_at
    )
    for row in rows:
        yield NoteRow(
            happened_on=local_date_of(row.happened_at, period.zone),
            topic=topic_of(row.kind),
            what=reported_words(row.kind),
            done=row.told_done,
            feature="",
        )
