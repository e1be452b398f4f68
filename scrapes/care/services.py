"""Record scent, store reviews, and ask for care: once for one thing."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action, Role
from coop.audit import writing
from coop.outbox import services as outbox
from properties.land.local_dates import local_date_on
from properties.land.models import Property
from properties.people.models import Person
from properties.people.queries import holders_of
from properties.regulations.kinds import RegulationKind
from properties.regulations.permitted import UseObjection, put_out_objection, scents_permitted
from scrapes.care.models import ReviewVerdict, ScentApplication, ScrapeReview, Substance
from scrapes.care.review import Report, Reviewed, care_settings, judge_scrapes
from scrapes.sites.models import Scrape

SCENT_APPLIED = "scent.applied"
CARE_NEEDED = "scrape.care_needed"
"""Published with the id of the review, and of the camera where one is at fault."""
CAMERAS_ASKED = "cameras_asked_about"
SCENT_ASKED = "scent_asked_for"
_ASKED_ABOUT = (CAMERAS_ASKED, SCENT_ASKED)


@dataclass(frozen=True, kw_only=True)
class ReviewsDone:
    """Reconciliation of a review: scrapes = new + changed + unchanged; verdicts by name."""

    scrapes: int
    new: int
    changed: int
    unchanged: int
    by_verdict: Mapping[str, int]
    care_asked: int
    notices: int


@transaction.atomic
def apply_scent(
    *,
    actor: Actor,
    scrape: Scrape,
    scent: str,
    now: datetime,
    applied_at: datetime | None = None,
    notes: str = "",
    substance: str = Substance.SCENT,
) -> ScentApplication:
    """Record that scent was put on a scrape, or feed or minerals were put out there.

    Raises :class:`coop.api.problems.Refused` for what the regulations, the settings or the lease
    of the property do not permit that day, ``ValidationError`` by field for an instant that lies
    ahead or a retired scrape.
    """
    actor.require(Action.SCENT_WRITE, scrape.property_id)
    land = Property.objects.select_related("cooperative").get(id=scrape.property_id)
    applied_at = applied_at or now
    if applied_at > now:
        raise ValidationError({"applied_at": "Lies in the future."})
    if scrape.retired_at is not None:
        raise ValidationError({"scrape": "This scrape is retired."})
    application = ScentApplication(
        scrape=scrape,
        applied_at=applied_at,
        applied_by_id=actor.person_id,
        substance=substance,
        scent=_permitted(scent, land, substance, local_date_on(land, applied_at)),
        notes=notes,
    )
    writing.create(
        application, actor=actor, action=Action.SCENT_WRITE, now=now, property_id=land.id
    )
    outbox.publish(
        topic=SCENT_APPLIED,
        ids={"application": application.id, "scrape": scrape.id, "property": land.id},
        now=now,
    )
    return application


def permitted_scents_on(land: Property, *, on: date) -> tuple[str, ...]:
    """Scents permitted on a local date: by regulation first, the settings, and the lease."""
    return scents_permitted(land, named_here=care_settings(land).permitted_scents, on=on)


def _permitted(scent: str, land: Property, substance: str, on: date) -> str:
    """Its name; a scent as it was spelled where it was permitted."""
    if substance != Substance.SCENT:
        objection = put_out_objection(land, kind=RegulationKind(substance), on=on)
        if objection is not None:
            raise objection.refused()
        return scent.strip()
    permitted = permitted_scents_on(land, on=on)
    for name in permitted:
        if name.strip().casefold() == scent.strip().casefold():
            return name.strip()
    listed = ", ".join(permitted) if permitted else "none"
    sentence = (
        f"“{scent}” is not among the scents that {land.name} permits (permitted: {listed}). Some "
        "states forbid natural urine, feed or minerals: local law and the lease come first, and a "
        "manager enters what they allow."
    )
    facts = {"scent": scent, "permitted": list(permitted)}
    raise UseObjection(code="scent_not_permitted", sentence=sentence, facts=facts).refused()


def review_property(
    *, actor: Actor, land: Property, now: datetime, report: Report | None = None
) -> ReviewsDone:
    """Review every standing scrape of a property and keep one review a scrape and local day.

    Reading and judging happen before the transaction that writes. Run again on the same day it
    writes only what is known better since, and asks nobody a second time.
    """
    actor.require(Action.JOB_START, land.id)
    reviewed = judge_scrapes(land, now=now, report=report)
    with transaction.atomic():
        # Two reviews of one property at a time: the second finds what the first one stored.
        Property.objects.select_for_update().get(id=land.id)
        return _store(land, reviewed, now)


def _store(land: Property, reviewed: Sequence[Reviewed], now: datetime) -> ReviewsDone:
    today = local_date_on(land, now)
    standing = {
        row.scrape_id: row
        for row in ScrapeReview.objects.filter(
            scrape__in=[one.scrape for one in reviewed], reviewed_on=today
        )
    }
    asked = _Asked(land, today, care_settings(land).ask_again_after_days)
    outcomes: Counter[str] = Counter()
    wide: list[ScrapeReview] = []
    sent = 0
    for one in reviewed:
        row = standing.get(one.scrape.id) or ScrapeReview(scrape=one.scrape, reviewed_on=today)
        outcomes[_put(row, one)] += 1
        sent += _ask(row, one, asked, now)
        if one.verdict is ReviewVerdict.PROPERTY_WIDE:
            wide.append(row)
    notices = 0
    if wide and not asked.property_was_told():
        notices = _tell_managers(land, wide, today, now)
        _mark(wide)
    return ReviewsDone(
        scrapes=len(reviewed),
        new=outcomes["new"],
        changed=outcomes["changed"],
        unchanged=outcomes["unchanged"],
        by_verdict=dict(Counter(one.verdict.value for one in reviewed)),
        care_asked=sent,
        notices=notices,
    )


class _Asked:
    """Whom the reviews of the days before, and an earlier one of today, have asked already."""

    def __init__(self, land: Property, today: date, ask_again_after_days: int) -> None:
        rows = ScrapeReview.objects.filter(
            scrape__property=land,
            reviewed_on__gt=today - timedelta(days=ask_again_after_days),
            reviewed_on__lte=today,
        )
        self._refresh: set[UUID] = set()
        self._cameras: set[str] = set()
        self._told = False
        for scrape_id, verdict, care_asked, cameras, scent in rows.values_list(
            "scrape_id",
            "verdict",
            "care_asked",
            f"figures__{CAMERAS_ASKED}",
            f"figures__{SCENT_ASKED}",
        ):
            if scent:
                self._refresh.add(scrape_id)
            self._cameras |= set(cameras or ())
            self._told |= care_asked and verdict == ReviewVerdict.PROPERTY_WIDE

    def about_scrape(self, scrape_id: UUID) -> bool:
        return scrape_id in self._refresh

    def cameras_not_asked_about(self, cameras: Iterable[UUID]) -> list[UUID]:
        return [camera_id for camera_id in cameras if str(camera_id) not in self._cameras]

    def property_was_told(self) -> bool:
        return self._told


def _put(row: ScrapeReview, one: Reviewed) -> str:
    """Store what was found; says whether the row is new, changed or stays."""
    is_new = row._state.adding
    before = (row.verdict, row.sentence, _as_found(row.figures))
    if not is_new and before == (one.verdict, one.sentence, dict(one.figures)):
        return "unchanged"
    told = {name: row.figures[name] for name in _ASKED_ABOUT if name in row.figures}
    if row.verdict != one.verdict:
        row.care_asked = False
    row.verdict, row.sentence = one.verdict, one.sentence
    row.figures = {**one.figures, **told}
    row.save()
    return "new" if is_new else "changed"


def _as_found(figures: Mapping[str, object]) -> dict[str, object]:
    return {name: value for name, value in figures.items() if name not in _ASKED_ABOUT}


def _ask(row: ScrapeReview, one: Reviewed, asked: _Asked, now: datetime) -> int:
    """Publish what leads to errands; returns how many.

    A camera that failed is looked at whatever the other one there says of the scrape, and the
    scrape's question is answered by that other one.
    """
    cameras = asked.cameras_not_asked_about(one.cameras_at_fault)
    scent = one.verdict is ReviewVerdict.REFRESH and not asked.about_scrape(one.scrape.id)
    for camera_id in cameras:
        outbox.publish(topic=CARE_NEEDED, ids={"review": row.id, "camera": camera_id}, now=now)
    if scent:
        outbox.publish(topic=CARE_NEEDED, ids={"review": row.id}, now=now)
    if cameras or scent:
        row.figures[CAMERAS_ASKED] = [
            *row.figures.get(CAMERAS_ASKED, []),
            *(str(camera_id) for camera_id in cameras),
        ]
        row.figures[SCENT_ASKED] = row.figures.get(SCENT_ASKED, False) or scent
        _mark([row])
    return len(cameras) + scent


def _mark(rows: Sequence[ScrapeReview]) -> None:
    for row in rows:
        row.care_asked = True
        row.save(update_fields=["care_asked", "figures"])


def _tell_managers(land: Property, rows: Sequence[ScrapeReview], today: date, now: datetime) -> int:
    """One notice to each manager for the whole property, not one for every scrape."""
    names = ", ".join(row.scrape.name for row in rows)
    text = (
        f"Visits to the scrapes of {land.name} fell together: {names}. It is not one scrape, so "
        "no refresh is asked for. Think of food falling in the woods, harvest of the fields, "
        "heat, opening day, the peak of breeding.\n\n"
        + "\n".join(f"- {row.scrape.name}: {row.sentence}" for row in rows)
        + "\n\nThis says what was counted; it claims no cause."
    )
    people = _managers(land)
    for person in people:
        outbox.write_message(
            once_key=f"scrapes.property_wide:{land.id}:{today}:{person.id}",
            recipient=person.email,
            subject=f"{land.name}: visits to all scrapes fell together",
            text=text,
            now=now,
            cooperative_id=land.cooperative_id,
        )
    return len(people)


def _managers(land: Property) -> list[Person]:
    """Managers with an address; where there is none, the coordinators."""
    for role in (Role.MANAGER, Role.COORDINATOR):
        people = holders_of(role=role, property_id=land.id).exclude(email="").order_by("id")
        if people:
            return list(people)
    return []
