"""What tests of reports share."""

from dataclasses import dataclass

import pytest
from django.db import transaction

from coop.access.actors import Actor, system_actor
from coop.access.roles import Role
from coop.printing.paper import Paper
from coop.reports import services
from coop.reports.figures import MonthFigures, digest_of, month_figures
from coop.reports.gather import gather
from coop.reports.models import MonthlyReport
from coop.reports.pages import Pages, write_pages
from coop.reports.queries import settings_in_force
from properties.land.models import Property
from properties.people.models import Person, RoleGrant
from scheduling.sits.models import Sit
from tests.cast import Cast, make_cast
from tests.coop.reports.months import AFTER, OCTOBER, RichMonth, make_rich_month


@pytest.fixture
def rich(cast: Cast) -> RichMonth:
    """A busy October on the north property."""
    return make_rich_month(cast)


@pytest.fixture
def writer() -> Actor:
    return system_actor("test")


@pytest.fixture
def without_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    """Editions without PDF, for tests that are not about paper: it takes a second each."""
    monkeypatch.setattr(
        services, "to_pdf", lambda _html: Paper(pdf=None, missing_reason="left out by the test")
    )


@dataclass(frozen=True, kw_only=True)
class Rendered:
    """The rich month's figures and pages, and what the database held that they must not tell.

    ``phones`` are everybody's but the one manager's, who has ``manager_phone``.
    """

    figures: MonthFigures
    pages: Pages
    manager_phone: str
    phones: tuple[str, ...]
    emails: tuple[str, ...]
    kin: tuple[str, ...]
    places: tuple[float, ...]


@pytest.fixture(scope="session")
def rendered(django_db_setup: None, django_db_blocker: pytest.FixtureRequest) -> Rendered:
    """Made once from a database that is rolled back: pages are read by many tests."""
    with django_db_blocker.unblock(), transaction.atomic():  # type: ignore[attr-defined]
        rich = make_rich_month(make_cast())
        # Distinct numbers, so that the one manager's cannot hide another's.
        for number, person in enumerate(Person.objects.order_by("id")):
            Person.objects.filter(id=person.id).update(phone=f"555-02{number:02d}")
        Sit.objects.update(fit=0.87654)
        figures = figures_of(rich.land)
        manager = RoleGrant.objects.get(role=Role.MANAGER, property=rich.land).person
        others = Person.objects.exclude(id=manager.id)
        made = Rendered(
            figures=figures,
            pages=write_pages(figures, edition=1, changes=[]),
            manager_phone=manager.phone,
            phones=tuple(others.values_list("phone", flat=True)),
            emails=tuple(Person.objects.values_list("email", flat=True)),
            kin=tuple(Person.objects.values_list("emergency_contact_name", flat=True)),
            places=tuple(
                value
                for row in (*rich.stands, *rich.scrapes)
                for value in (row.longitude, row.latitude)
            ),
        )
        transaction.set_rollback(True)
    return made


def figures_of(land: Property) -> MonthFigures:
    """The figures of a property's October, as the service makes them."""
    settings = settings_in_force(land, now=AFTER)
    rows = gather(land=land, month=OCTOBER, now=AFTER, settings=settings)
    return month_figures(rows, settings)


@pytest.fixture
def report(cast: Cast, rendered: Rendered) -> MonthlyReport:
    """The first edition of the rich month, stored as the service would, on the north property."""
    figures = rendered.figures.as_dict()
    return MonthlyReport.objects.create(
        property=cast.north,
        month=OCTOBER,
        figures=figures,
        html=rendered.pages.html,
        appendix_html=rendered.pages.appendix_html,
        pdf_missing_reason="left out by the test",
        data_cut_off_at=AFTER,
        digest=digest_of(figures),
    )
