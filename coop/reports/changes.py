"""What a new edition corrects, in sentences, from the stored figures of both editions."""

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from coop.reports import wording
from coop.reports.figures import page_digest_of

Figures = Mapping[str, Any]


def changes_between(before: Figures, after: Figures) -> list[str]:
    """Sentences on every section that differs; both are ``MonthFigures.as_dict()``.

    Never empty for figures of different digest: a section without words of its own is named.
    """
    if not before["finished"] and after["finished"]:
        return []  # the month went on; that corrects nothing
    told = [
        *_stays(before, after),
        *_deer(before, after),
        *_notes(before, after),
        *_work(before, after),
        *_scrapes(before, after),
    ]
    return told or _sections(before, after)


def corrects_page(before: Figures, after: Figures) -> bool:
    """Whether the landowner's page says anything of the month that it did not say before."""
    return page_digest_of(before) != page_digest_of(after)


def _stays(before: Figures, after: Figures) -> Iterator[str]:
    old, new = (
        Counter((stay["on"], stay["person"], stay["what"]) for stay in figures["who"]["presences"])
        for figures in (before, after)
    )
    for on, person, what in sorted((new - old).elements()):
        yield _("Added: %(person)s on %(stay)s.") % {"person": person, "stay": _stay(on, what)}
    for on, person, what in sorted((old - new).elements()):
        yield _("Taken out: %(person)s on %(stay)s.") % {
            "person": person,
            "stay": _stay(on, what),
        }


def _stay(on: str, what: str) -> str:
    return f"{wording.day(date.fromisoformat(on))} ({wording.span(what)})"


def _deer(before: Figures, after: Figures) -> Iterator[str]:
    old, new = (
        {one["harvest_class"]: one for one in figures["deer"]["classes"]}
        for figures in (before, after)
    )
    labels = {
        "in_month": _("taken this month"),
        "in_season": _("taken this season"),
        "planned": _("planned"),
    }
    for name in sorted(set(old) | set(new)):
        for key, label in labels.items():
            was, now = old.get(name, {}).get(key), new.get(name, {}).get(key)
            if was != now:
                yield _("%(kind)s deer %(label)s: %(now)s, not %(was)s.") % {
                    "kind": wording.harvest_class(name),
                    "label": label,
                    "now": _("none") if now is None else now,
                    "was": _("none") if was is None else was,
                }


def _notes(before: Figures, after: Figures) -> Iterator[str]:
    old, new = (
        [*figures["incidents"]["notes"], *figures["work"]["notes"]] for figures in (before, after)
    )
    for note in new:
        if note not in old:
            yield _("Entered or changed: %(note)s.") % {"note": _note(note)}
    kept = {(note["on"], note["what"]) for note in new}
    for note in old:
        if (note["on"], note["what"]) not in kept:
            yield _("Taken out: %(note)s.") % {"note": _note(note)}


def _note(note: Mapping[str, str]) -> str:
    what = note["what"].rstrip(".")
    return f"{what} ({wording.day(date.fromisoformat(note['on']))})"


def _work(before: Figures, after: Figures) -> Iterator[str]:
    old, new = (
        {one["kind"]: one["count"] for one in figures["work"]["done"]}
        for figures in (before, after)
    )
    for kind in sorted(set(old) | set(new)):
        if old.get(kind) != new.get(kind):
            yield _("%(now)s; before: %(was)d.") % {
                "now": wording.work_done(kind, new.get(kind, 0)),
                "was": old.get(kind, 0),
            }


def _scrapes(before: Figures, after: Figures) -> Iterator[str]:
    if before["appendix"] != after["appendix"]:
        yield _("The managers' appendix (cameras and wind) was counted anew.")


def _sections(before: Figures, after: Figures) -> list[str]:
    names = {
        "who": _("who was on the land"),
        "calendar": _("the calendar"),
        "deer": _("deer"),
        "incidents": _("incidents"),
        "work": _("work"),
        "sources": _("the number of records"),
    }
    changed = [label for key, label in names.items() if before.get(key) != after.get(key)] or [
        _("details")
    ]
    return [_("Corrected: %(sections)s.") % {"sections": wording.listed(changed)}]
