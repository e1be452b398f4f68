"""What a new edition of a season corrects, in sentences, from the stored figures of both."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from coop.reports import wording

Figures = Mapping[str, Any]


def changes_between(before: Figures, after: Figures) -> list[str]:
    """Sentences on whatever differs; both are ``SeasonFigures.as_dict()``.

    Never empty for figures of different digest: a section without words of its own is named.
    """
    if not before["finished"] and after["finished"]:
        return []  # the season went on; that corrects nothing
    old, new = ({land["name"]: land for land in one["properties"]} for one in (before, after))
    told = [
        *(_("Added: %(name)s.") % {"name": name} for name in new if name not in old),
        *(_("Taken out: %(name)s.") % {"name": name} for name in old if name not in new),
    ]
    for name in new:
        if name in old:
            told += [f"{name}: {change}" for change in _land(old[name], new[name])]
    return told or _sections(before, after)


def _land(old: Figures, new: Figures) -> Iterator[str]:
    labels = {
        "sits": _("sits"),
        "people": _("people"),
        "reported": _("hunters' reports"),
        "deer_seen": _("deer seen"),
        "shots": _("shots"),
    }
    for key, label in labels.items():
        yield from _figure(label, old["sitting"][key], new["sitting"][key])
    yield from _classes(old, new)
    for key, label in {
        "closed_days": _("days closed"),
        "incidents": _("incidents"),
        "work": _("pieces of work"),
    }.items():
        yield from _figure(label, old[key], new[key])
    if old["watched"] != new["watched"]:
        yield _("visits at scrapes were counted anew.")


def _classes(old: Figures, new: Figures) -> Iterator[str]:
    was, now = ({one["harvest_class"]: one for one in each["classes"]} for each in (old, new))
    for kind in sorted(set(was) | set(now)):
        for key, label in {"taken": _("deer taken"), "planned": _("deer planned")}.items():
            yield from _figure(
                f"{wording.harvest_class(kind)} {label}",
                was.get(kind, {}).get(key),
                now.get(kind, {}).get(key),
            )


def _figure(label: str, was: int | None, now: int | None) -> Iterator[str]:
    if was != now:
        yield _("%(label)s %(now)s, not %(was)s.") % {
            "label": label,
            "now": _("none") if now is None else now,
            "was": _("none") if was is None else was,
        }


def _sections(before: Figures, after: Figures) -> list[str]:
    names = {
        "properties": _("hours of the properties"),
        "months": _("the months"),
        "sharing": _("how sits were shared"),
        "sources": _("the number of records"),
    }
    changed = [label for key, label in names.items() if before.get(key) != after.get(key)]
    return [_("Corrected: %(sections)s.") % {"sections": wording.listed(changed or [_("details")])}]
