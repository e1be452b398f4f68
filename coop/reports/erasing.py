"""Take out of stored editions what they say of somebody whose data is erased; figures stay."""

from collections.abc import Callable, Mapping
from datetime import datetime
from html import escape
from typing import Any

from django.db.models import QuerySet

from coop.naming import KnownAs
from coop.reports import figures as month
from coop.reports.models import MonthlyReport, SeasonReport
from coop.reports.season import figures as season
from properties.people.erasure import ERASED, Subject, on_erasure

TAKEN_AWAY = "Taken away: it told of somebody whose data was erased since."


def register() -> None:
    """Called once, when Django has loaded every model."""
    on_erasure(_from_editions)


def _from_editions(subject: Subject, _now: datetime) -> None:
    months = MonthlyReport.objects.filter(property__cooperative=subject.cooperative_id)
    seasons = SeasonReport.objects.filter(cooperative=subject.cooperative_id)
    _erase(months, subject, ("summary", "html", "appendix_html"), month.digest_of)
    _erase(seasons, subject, ("summary", "html"), season.digest_of)


def _erase(
    editions: QuerySet[Any],
    subject: Subject,
    pages: tuple[str, ...],
    digest_of: Callable[[Mapping[str, Any]], str],
) -> None:
    """An edition that does not tell of them stays as it is, with its paper."""
    known_as = subject.known_as
    for edition in editions.defer("pdf").iterator():
        written = {
            name: _out_of_page(getattr(edition, name), edition.figures, known_as) for name in pages
        }
        figures = known_as.out_of(_without_reach(edition.figures, known_as), instead=ERASED)
        changes = known_as.out_of(edition.changes, instead=ERASED)
        if (figures, changes) == (edition.figures, edition.changes) and all(
            getattr(edition, name) == text for name, text in written.items()
        ):
            continue
        type(edition)._default_manager.filter(id=edition.id).update(
            figures=figures,
            changes=changes,
            digest=digest_of(figures),
            pdf=None,
            pdf_missing_reason=TAKEN_AWAY,
            **written,
        )


def _without_reach(figures: Mapping[str, Any], known_as: KnownAs) -> dict[str, Any]:
    """Figures without the vehicle and the telephone that stand beside the name."""
    told = dict(figures)
    if "who" in told:
        people = [
            {**one, "vehicle": ""} if one["person"] in known_as.names else one
            for one in told["who"]["people"]
        ]
        told["who"] = {**told["who"], "people": people}
    contact = _own_contact(figures, known_as)
    if contact is not None:
        told["contact"] = {**contact, "phone": ""}
    return told


def _out_of_page(page: str, figures: Mapping[str, Any], known_as: KnownAs) -> str:
    """A page without the name, and without vehicle and telephone where its figures have them:
    by themselves these may be any word, and somebody else's too."""
    for one in figures.get("who", {}).get("people", ()):
        if one["person"] in known_as.names and one["vehicle"]:
            said = escape(f"{one['person']}, {one['vehicle']}")
            page = page.replace(said, escape(one["person"]))
    contact = _own_contact(figures, known_as)
    if contact is not None:
        number = escape(contact["phone"])
        page = page.replace(f'<a href="tel:{number}">{number}</a>', "")
    return known_as.out_of_page(page, instead=ERASED)


def _own_contact(figures: Mapping[str, Any], known_as: KnownAs) -> Mapping[str, Any] | None:
    """Whom to call by these figures, where that is they."""
    contact: Mapping[str, Any] | None = figures.get("contact")
    return contact if contact and contact["name"] in known_as.names else None
