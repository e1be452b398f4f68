"""Write the list: templates of the year, items of the weeks ahead, nothing twice.

Safe to run at any time and any number of times: every item has the key of what it came from.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.leases.queries import standing_leases
from properties.stands.models import Stand
from scheduling.errands.models import Errand, ErrandState
from scheduling.worklist.findings import ERRAND, INSPECTION, Finding, findings_of, origin_of
from scheduling.worklist.models import AboutKind, WorkItem, WorkState, WorkTemplate
from scheduling.worklist.practice import COMMON_YEAR, Task
from scheduling.worklist.queries import Year, settings_of, year_of
from scheduling.worklist.weeks import week_name, week_on

TEMPLATE = "template"


@dataclass(frozen=True, kw_only=True)
class Written:
    """What a run did; items that stand as they were are counted nowhere."""

    templates: int
    items: int
    moved: int
    done_elsewhere: int
    fell_away: int


@transaction.atomic
def write_worklist(*, actor: Actor, land: Property, now: datetime) -> Written:
    """Bring a property's list up to date, from this week to as far ahead as the settings say."""
    actor.require(Action.WORKLIST_WRITE, land.id)
    land = (
        Property.objects.select_for_update(of=("self",))
        .select_related("cooperative")
        .get(id=land.id)
    )
    templates = _copy_common_year(actor, land, now)
    today = local_date_on(land, now)
    until = week_on(today) + timedelta(weeks=settings_of(land).weeks_ahead, days=6)
    asked = findings_of(land, until=until, today=today, now=now)
    known = {item.origin_key: item for item in _items_of(land)}
    done, gone = _settle(actor, known, {one.key for one in asked}, now)
    wanted = [
        *_of_templates(land, today, until),
        *(_columns_of(one) for one in asked),
    ]
    items = moved = 0
    for columns in wanted:
        standing = known.get(columns["origin_key"])
        if standing is None:
            item = WorkItem(property=land, **columns)
            writing.create(
                item, actor=actor, action=Action.WORKLIST_WRITE, now=now, property_id=land.id
            )
            items += 1
        else:
            moved += _moved(actor, standing, columns, now)
    return Written(
        templates=templates, items=items, moved=moved, done_elsewhere=done, fell_away=gone
    )


def _items_of(land: Property) -> QuerySet[WorkItem]:
    rows = WorkItem.objects.filter(property=land).exclude(origin_key="")
    return rows.select_related("template")


def _copy_common_year(actor: Actor, land: Property, now: datetime) -> int:
    """Lines of the common year that the property does not have, taken out or not."""
    known = set(WorkTemplate.objects.filter(property=land).values_list("practice_key", flat=True))
    missing = [line for line in COMMON_YEAR if line.key not in known]
    for line in missing:
        template = WorkTemplate(
            property=land,
            practice_key=line.key,
            task=line.task.value,
            title=line.title,
            anchor=line.anchor.value,
            offset_weeks=line.offset_weeks,
        )
        writing.create(
            template, actor=actor, action=Action.WORKLIST_WRITE, now=now, property_id=land.id
        )
    return len(missing)


def _of_templates(land: Property, today: date, until: date) -> Iterator[dict[str, Any]]:
    """One item for each template and season's year that falls into the weeks ahead."""
    year = year_of(land)
    this_year = year.season_year(today)
    lease_says = standing_leases(property_id=land.id).exclude(renewal_notice_on=None).exists()
    for template in WorkTemplate.objects.filter(property=land, retired_at=None).order_by("id"):
        if lease_says and template.practice_key and template.task == Task.RENEW_LEASE:
            continue  # the lease's own date of notice stands in the list
        for season_year in (this_year - 1, this_year, this_year + 1):
            due_on = year.due_on(template, season_year)
            if due_on is not None and week_on(today) <= due_on <= until:
                yield _columns_of_template(land, year, template, season_year, due_on)


def _columns_of_template(
    land: Property, year: Year, template: WorkTemplate, season_year: int, due_on: date
) -> dict[str, Any]:
    season = year.season_of(template, season_year)
    return {
        "origin_key": f"{TEMPLATE}:{template.id}:{season_year}",
        "template": template,
        "task": template.task,
        "title": template.title,
        "due_on": due_on,
        "week_on": week_on(due_on),
        "about_kind": AboutKind.SEASON if season else AboutKind.PROPERTY,
        "about_id": season.id if season else land.id,
    }


def _columns_of(finding: Finding) -> dict[str, Any]:
    return {
        "origin_key": finding.key,
        "task": finding.task.value,
        "title": finding.title,
        "due_on": finding.due_on,
        "week_on": week_on(finding.due_on),
        "about_kind": finding.about_kind,
        "about_id": finding.about_id,
    }


def _moved(actor: Actor, item: WorkItem, columns: dict[str, Any], now: datetime) -> int:
    """A date that changed moves an open item that nobody put into a week by hand; one that fell
    away and is asked for again is open again. What is due "today" until it is done stays in the
    week in which it was first asked for."""
    changes: dict[str, Any] = {}
    if item.state == WorkState.FELL_AWAY:
        changes["state"] = WorkState.OPEN
    elif item.state != WorkState.OPEN:
        return 0
    is_template = origin_of(item.origin_key) == TEMPLATE
    if is_template:
        told = ("task", "title", "about_kind", "about_id")
        changes |= {name: columns[name] for name in told if getattr(item, name) != columns[name]}
    is_later_alone = not is_template and columns["due_on"] > item.due_on
    if item.moved_at is None and item.due_on != columns["due_on"] and not is_later_alone:
        changes |= {"due_on": columns["due_on"], "week_on": columns["week_on"]}
    if not changes:
        return 0
    _change(actor, item, changes, now, reason=f"now due in {week_name(columns['due_on'])}")
    return 1


def _settle(
    actor: Actor, known: dict[str, WorkItem], asked: set[str], now: datetime
) -> tuple[int, int]:
    """Close items whose fact is gone: done where the fact says so, else they fall away."""
    errands = {
        f"{ERRAND}:{errand.id}": errand
        for errand in Errand.objects.filter(
            id__in=[
                item.about_id
                for item in known.values()
                if item.state == WorkState.OPEN and item.about_kind == AboutKind.ERRAND
            ]
        )
    }
    done = gone = 0
    for key, item in known.items():
        if item.state != WorkState.OPEN or not key or key in asked:
            continue
        if origin_of(key) == TEMPLATE:
            template = item.template
            if template is None or template.retired_at is None:
                continue
            _change(actor, item, {"state": WorkState.FELL_AWAY}, now, reason="taken out")
            gone += 1
            continue
        changes = _outcome(item, errands.get(key), now)
        done += changes["state"] == WorkState.DONE
        gone += changes["state"] != WorkState.DONE
        _change(actor, item, changes, now, reason="the fact behind it")
    return done, gone


def _outcome(item: WorkItem, errand: Errand | None, now: datetime) -> dict[str, Any]:
    if errand is not None and errand.state == ErrandState.DONE:
        return {
            "state": WorkState.DONE,
            "done_at": errand.done_at,
            "done_by": errand.done_by,
            "note": errand.done_note,
        }
    if origin_of(item.origin_key) == INSPECTION and _was_inspected(item):
        return {"state": WorkState.DONE, "done_at": now, "note": "An inspection was recorded."}
    return {"state": WorkState.FELL_AWAY}


def _was_inspected(item: WorkItem) -> bool:
    """Whether another day of inspection stands on the stand than when the item was written; an
    errand that asks for it now, or a stand that is gone, is no inspection."""
    before = item.origin_key.rpartition(":")[2]
    last = Stand.objects.values_list("last_inspected_on", flat=True).get(id=item.about_id)
    return str(last or "never") != before


def _change(
    actor: Actor, item: WorkItem, changes: dict[str, Any], now: datetime, *, reason: str
) -> None:
    writing.change(
        item,
        changes,
        actor=actor,
        action=Action.WORKLIST_WRITE,
        now=now,
        property_id=item.property_id,
        reason=reason,
    )
