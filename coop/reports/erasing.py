"""Take out of stored editions what they say of somebody whose data is erased; figures stay."""

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from html import escape
from typing import Any

from django.db.models import QuerySet

from coop.naming import can_be_sought_in_texts
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
    words = _Words(subject)
    for edition in editions.defer("pdf").iterator():
        figures = words.out_of(edition.figures)
        written = {name: words.out_of_page(getattr(edition, name)) for name in pages}
        changes = words.out_of(edition.changes)
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


class _Words:
    """The subject's words in figures and pages: the name becomes :data:`ERASED`, others nothing.

    A name of one word may be a word of the ground as well: it is replaced where it stands alone.
    """

    def __init__(self, subject: Subject) -> None:
        self._name = subject.name
        whole = subject.words
        if not can_be_sought_in_texts(subject.name):
            whole -= {subject.name}
        self._in_text = _pattern(whole)
        self._in_page = _pattern({escape(word) for word in whole})
        self._alone = re.compile(rf"(?<=>)\s*{re.escape(escape(subject.name))}\s*(?=<)")

    def out_of(self, value: Any) -> Any:
        if isinstance(value, dict):
            return {self.out_of(name): self.out_of(each) for name, each in value.items()}
        if isinstance(value, list):
            return [self.out_of(each) for each in value]
        if not isinstance(value, str):
            return value
        return ERASED if value == self._name else self._in_text.sub(self._instead, value)

    def out_of_page(self, page: str) -> str:
        return self._in_page.sub(self._instead, self._alone.sub(ERASED, page))

    def _instead(self, found: re.Match[str]) -> str:
        return ERASED if found[0] in (self._name, escape(self._name)) else ""


def _pattern(words: set[str] | frozenset[str]) -> re.Pattern[str]:
    """Any of ``words``, not as a part of a longer word; the longest first. Of none: nothing."""
    longest_first = sorted(words, key=lambda word: (-len(word), word))
    any_of_them = "|".join(map(re.escape, longest_first)) or "(?!)"
    return re.compile(rf"(?<!\w)(?:{any_of_them})(?!\w)")
