"""The tables of a season as CSV, from its stored figures."""

from coop.reports.tables import Figures, Rows, Table


def _properties(figures: Figures) -> Rows:
    for land in figures["properties"]:
        sitting = land["sitting"]
        yield (
            land["name"],
            sitting["sits"],
            sitting["people"],
            sitting["guests_and_clients"],
            sitting["hours"],
            sitting["reported"],
            sitting["shots"],
            sitting["deer_seen"],
            sitting["deer_per_hour"],
            sitting["bucks_per_doe"],
            land["closed_days"],
            land["incidents"],
            land["work"],
        )


def _deer(figures: Figures) -> Rows:
    for land in figures["properties"]:
        for one in land["classes"]:
            yield land["name"], one["harvest_class"], one["taken"], one["planned"]


def _months(figures: Figures) -> Rows:
    for one in figures["months"]:
        yield one["month"][:7], one["sits"], one["deer_seen"], one["deer_taken"]


def _sharing(figures: Figures) -> Rows:
    yield from figures["sharing"].items()


def _visits(figures: Figures) -> Rows:
    for land in figures["properties"]:
        watched = land["watched"]
        yield (
            land["name"],
            watched["visits"],
            watched["low"],
            watched["high"],
            watched["camera_nights"],
        )


TABLES: dict[str, Table] = {
    "properties": Table(
        columns=(
            "property",
            "sits",
            "people",
            "guests_and_clients",
            "hours",
            "reported",
            "shots",
            "deer_seen",
            "deer_per_hour",
            "bucks_per_doe",
            "days_closed",
            "incidents",
            "work",
        ),
        rows=_properties,
    ),
    "deer": Table(columns=("property", "class", "taken", "planned"), rows=_deer),
    "months": Table(columns=("month", "sits", "deer_seen", "deer_taken"), rows=_months),
    "sharing": Table(columns=("figure", "value"), rows=_sharing),
    "visits": Table(columns=("property", "visits", "low", "high", "camera_nights"), rows=_visits),
}
