"""Links to one edition that work without signing in: for one reader, and not for ever."""

from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.conf import settings
from django.core import signing

from coop.access.actors import person_actor
from coop.access.roles import Action
from coop.reports.models import MonthlyReport
from properties.people.models import Person

VALID_FOR = timedelta(days=45)

_SALT = "coop.reports.link"


class LinkDoesNotHold(Exception):
    """The link is forged, too old, or its reader may no longer read the report."""


@dataclass(frozen=True, kw_only=True)
class LinkedReport:
    report: MonthlyReport
    form: str


def link_to(report: MonthlyReport, *, person: Person, form: str) -> str:
    """Where ``person`` finds an edition as ``html`` or ``pdf`` for :data:`VALID_FOR`."""
    told = {"report": str(report.id), "person": str(person.id), "form": form}
    return f"{settings.BASE_URL}/notices/report/{signing.dumps(told, salt=_SALT)}/"


def follow(token: str) -> LinkedReport:
    """What a link leads to; raises :class:`LinkDoesNotHold`.

    A role that was revoked since takes the link with it.
    """
    try:
        told = signing.loads(token, salt=_SALT, max_age=VALID_FOR)
    except signing.BadSignature as error:
        raise LinkDoesNotHold from error
    report = MonthlyReport.objects.filter(id=UUID(told["report"])).first()
    person = Person.objects.filter(id=UUID(told["person"]), retired_at=None).first()
    if report is None or person is None or person.user_id is None:
        raise LinkDoesNotHold
    reader = person_actor(person.user_id, person.name)
    if not reader.may(Action.REPORT_READ, report.property_id):
        raise LinkDoesNotHold
    return LinkedReport(report=report, form=told["form"])
