"""What the demo prints: tables of what was taken in, computed, planned, found and written."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from pathlib import Path

from rich.console import Console
from rich.table import Table

from coop.demo.build import Built
from coop.demo.imports import Reconciled
from coop.demo.scenario import Calendar
from coop.demo.tokens import HOST, RoleToken
from properties.people.outfitter_services import Credential
from properties.sessions.kinds import SessionKind
from properties.wind.models import SessionFit
from properties.wind.sectors import SECTOR_NAMES
from scheduling.errands.models import Errand, ErrandState
from scheduling.rotation.models import RotationPlan
from scheduling.rotation.unmet import reasons_in
from scheduling.sits.limits_queries import sit_settings_of
from scheduling.sits.models import Sit
from scrapes.care.models import ScrapeReview

_WISHES_SHOWN = 6
_SENTENCES_SHOWN = 2


def tell_imports(console: Console, accounts: Iterable[Reconciled]) -> None:
    """One line a file; what was left out stands below with its line."""
    table = Table(title="Files taken in")
    for heading in ("file", "what"):
        table.add_column(heading)
    for heading in ("read", "taken", "held", "set aside", "skipped"):
        table.add_column(heading, justify="right")
    reasons = []
    for one in accounts:
        figures = (one.read, one.taken, one.held, one.set_aside, one.skipped)
        table.add_row(one.path.name, one.kind, *(str(figure) for figure in figures))
        if one.reasons:
            reasons.append(f"{one.path.name}: {one.reasons}")
    console.print(table)
    for reason in reasons:
        console.print(f"  skipped in {reason}", style="dim", markup=False, highlight=False)


def tell_fits(console: Console, built: Built, calendar: Calendar) -> None:
    """Every stand tomorrow evening, the fittest of each property first."""
    evening = calendar.day(1)
    rows = (
        SessionFit.objects.filter(
            property__in=built.lands.values(), local_date=evening, kind=SessionKind.EVENING
        )
        .defer("detail")
        .select_related("stand", "property")
        .order_by("property__name", "-fit", "stand__name")
    )
    table = Table(title=f"Where can I sit on the evening of {evening:%A %d %B}?")
    for heading in ("property", "stand", "wind", "verdict"):
        table.add_column(heading)
    for heading in ("fit %", "worst %"):
        table.add_column(heading, justify="right")
    table.add_column("mainly because")
    for row in rows:
        table.add_row(
            row.property.name,
            row.stand.name,
            _likely_sector(row.sector_per_mille),
            row.verdict,
            _percent(row.fit),
            _percent(row.worst_place),
            _without_figure(row.main_reason),
        )
    console.print(table)


def tell_rotation(console: Console, built: Built, published: Sequence[str]) -> None:
    """What was asked and served, how far from the best at most, and who went short and why."""
    plan = (
        RotationPlan.objects.filter(cooperative=built.cooperative).order_by("-computed_at").first()
    )
    if plan is None:
        return
    table = Table(
        title=f"Rotation {plan.first_on} to {plan.last_on}: {plan.seats.count()} sits planned of "
        f"{plan.result['requested']} asked for ({plan.result['status']})"
    )
    table.add_column("aim, in strict order")
    for heading in ("value", "bound", "gap %"):
        table.add_column(heading, justify="right")
    for level in plan.result["levels"]:
        table.add_row(
            level["name"].replace("_", " "),
            f"{level['value']:g}",
            f"{level['bound']:g}",
            f"{level['gap_pct']:g}",
        )
    console.print(table)
    if not published:
        console.print("Computed before this run, so nothing was published now.", highlight=False)
    for sentence in published:
        console.print(f"Published for the demo by its builder: {sentence}.", highlight=False)
    _tell_wishes(console, built, plan)


def _tell_wishes(console: Console, built: Built, plan: RotationPlan) -> None:
    names = {str(person.id): person.name for person in built.persons.values()}
    short = sorted(plan.explanations, key=lambda wish: wish["sits"] - wish["sits_requested"])
    for wish in short[:_WISHES_SHOWN]:
        person = names.get(wish["person"], "somebody")
        console.print(
            f"{person} is told: {wish['sentence']}",
            markup=False,
            highlight=False,
        )
        in_short = [reason.sentence for reason in reasons_in(wish["obstacles"])]
        at_length = [obstacle["sentence"] for obstacle in wish["obstacles"]]
        kept_out = wish["kept_out"][:_SENTENCES_SHOWN]
        for sentence in (*kept_out, *in_short, *at_length[:_SENTENCES_SHOWN]):
            console.print(f"  {sentence}", style="dim", markup=False, highlight=False)
    if len(short) > _WISHES_SHOWN:
        console.print(f"... and {len(short) - _WISHES_SHOWN} more.", style="dim")


def tell_reviews(console: Console, built: Built, calendar: Calendar) -> None:
    """Every scrape's verdict, and the errands that follow from it."""
    table = Table(title="Scrapes reviewed")
    for heading in ("property", "scrape", "verdict", "why"):
        table.add_column(heading)
    reviews = ScrapeReview.objects.filter(
        scrape__property__in=built.lands.values(), reviewed_on=calendar.today
    ).select_related("scrape__property")
    for row in reviews.order_by("scrape__property__name", "scrape__name"):
        table.add_row(row.scrape.property.name, row.scrape.name, row.verdict, row.sentence)
    console.print(table)
    errands = Errand.objects.filter(
        property__in=built.lands.values(), state=ErrandState.OPEN
    ).select_related("property")
    for errand in errands.order_by("property__name", "due_on", "id"):
        console.print(
            f"Errand on {errand.property.name}, by {errand.due_on}: "
            f"{errand.get_kind_display().lower()}. {errand.reason} {errand.advice}",
            markup=False,
            highlight=False,
        )


def tell_files(console: Console, paths: Iterable[Path], missing: Iterable[str]) -> None:
    """Names of everything that was written, and why a PDF is missing where it is."""
    console.print("Files written:", style="bold")
    for path in paths:
        console.print(f"  {path}", markup=False, highlight=False, soft_wrap=True)
    for reason in missing:
        console.print(f"No PDF: {reason}", markup=False, highlight=False)


def tell_tokens(console: Console, tokens: Iterable[RoleToken]) -> None:
    """One line to try for each role, once `make serve` runs."""
    console.print("\nTry it (start the API with `make serve`):", style="bold", markup=False)
    for token in tokens:
        console.print(f"{token.role}, {token.holder}: {token.asks}", markup=False, highlight=False)
        console.print(f"  {token.curl}", markup=False, highlight=False, soft_wrap=True)


def tell_next_sit(console: Console, sit: Sit | None, calendar: Calendar) -> None:
    """The member's seat, and how to check in to it and out of it with the member's token."""
    if sit is None:
        console.print("No stand is free for the member in the session that is now or next.")
        return
    opens = sit.starts_at - timedelta(hours=sit_settings_of(sit.property).check_in_opens_h)
    local = [at.astimezone(calendar.zone) for at in (opens, sit.ends_at)]
    console.print(
        f"{sit.person.name} sits in {sit.stand.name} on {sit.local_date:%A %d %B}, {sit.span}: "
        f"check in from {local[0]:%H:%M} to {local[1]:%H:%M} there, with the member's token",
        markup=False,
        highlight=False,
    )
    for verb in ("check-in", "check-out"):
        line = f"curl -s -X POST -H 'Authorization: Token …' '{HOST}/api/v1/sits/{sit.id}/{verb}/'"
        console.print(f"  {line}", markup=False, highlight=False, soft_wrap=True)


def tell_quick_start(console: Console, credential: Credential, day: date | None) -> None:
    """What the quick start's program reads from its environment; the secret is told here alone.

    ``day`` is one with a stand offered to clients.
    """
    console.print(
        "\nAn outfitter's developer goes on with the quick start (/docs/quick-start/). The secret "
        "is told this once; another run of the demo makes another. Start the API with "
        "`COOP_WEBHOOKS_ALLOW_PRIVATE=true make serve` to have a receiver on this machine:",
        highlight=False,
        markup=False,
    )
    for name, value in (
        ("COOP_URL", HOST),
        ("COOP_CLIENT_ID", credential.client_id),
        ("COOP_CLIENT_SECRET", credential.client_secret),
        ("RECEIVER_URL", "http://localhost:9000/"),
        ("DAY", "" if day is None else day.isoformat()),
    ):
        console.print(f"  export {name}='{value}'", markup=False, highlight=False, soft_wrap=True)
    if day is None:
        console.print("No stand is offered to clients in the days of the forecast.")


def _likely_sector(per_mille: Sequence[int]) -> str:
    if not per_mille:
        return "?"
    most = max(per_mille)
    return f"{SECTOR_NAMES[list(per_mille).index(most)]} {most / 10:.0f} %"


def _without_figure(reason: str) -> str:
    """The reason without the worst place's figure, which has a column of its own."""
    return reason.split(" (")[0].rstrip(".")


def _percent(share: float | None) -> str:
    return "?" if share is None else f"{100 * share:.0f}"
