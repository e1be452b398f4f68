"""The bare side of the benchmark of lists: driver, a dictionary a row, fast JSON."""

from collections.abc import Callable
from datetime import date
from typing import Any

import orjson
from django.db import connection

from tests.benchmarks.list_ground import Ground


def _names(text: str) -> list[str]:
    return text.split()


STAND = _names(
    "id property_id name kind longitude latitude seat_height_m arc_from_deg arc_to_deg "
    "shot_distance_m capacity cover slope_aspect_deg slope_deg approach_route exit_route "
    "flood_stage_m rest_days last_inspected_on is_open closed_reason notes settings version "
    "retired_at created_at updated_at"
)
SIT = _names(
    "id property_id stand_id person_id host_id outfitter_id local_date span starts_at ends_at "
    "state origin lock_reason weapon fit sector_per_mille issue_id observed_sector "
    "overrule_reason checked_in_at check_in_entered_at checked_out_at check_out_entered_at "
    "cancelled_at cancel_reason excused_at back_by acknowledged_at acknowledged_by version "
    "created_at updated_at"
)
EVENT = _names("id version starts_at ends_at created_at updated_at state local_date span")
Plain = Callable[[], bytes]


def stands(ground: Ground, count: int) -> Plain:
    sql = (
        f"SELECT {', '.join(STAND)} FROM properties_stand "
        f"WHERE property_id = %s AND is_open ORDER BY id LIMIT {count + 1}"
    )
    return _plain(sql, STAND, _key(ground.wide), json_members=STAND_JSON)


def sits(ground: Ground, count: int) -> Plain:
    names = [*SIT, "stand_name", "person_name"]
    columns = ", ".join(f"s.{name}" for name in SIT)
    sql = (
        f"SELECT {columns}, st.name, p.name FROM scheduling_sit s "
        "JOIN properties_stand st ON st.id = s.stand_id "
        "JOIN properties_person p ON p.id = s.person_id "
        "WHERE s.property_id = %s AND s.state = 'booked' "
        f"ORDER BY s.local_date DESC, s.starts_at DESC, s.id DESC LIMIT {count + 1}"
    )
    return _plain(sql, names, _key(ground.wide), json_members=("sector_per_mille",))


def events(ground: Ground, count: int) -> Plain:
    """The rows of a feed as JSON: what a calendar's text tells, without its form."""
    names = [*EVENT, "stand_name", "person_name", "property_name"]
    columns = ", ".join(f"s.{name}" for name in EVENT)
    sql = (
        f"SELECT {columns}, st.name, p.name, l.name FROM scheduling_sit s "
        "JOIN properties_stand st ON st.id = s.stand_id "
        "JOIN properties_person p ON p.id = s.person_id "
        "JOIN properties_property l ON l.id = s.property_id "
        "JOIN scheduling_calendarfeed f ON f.property_id = s.property_id "
        "WHERE f.digest = %s ORDER BY s.starts_at, s.id"
    )
    from scheduling.sits.calendar_services import _digest

    return _plain(sql, names, _digest(ground.feeds[count]), json_members=())


def offers(ground: Ground, first_on: date, last_on: date) -> Plain:
    """Stands with their stored fits, a row for each session: what offers show without judging."""
    names = _names("stand stand_name local_date kind verdict fit worst_place main_reason capacity")
    sql = (
        "SELECT st.id, st.name, f.local_date, f.kind, f.verdict, f.fit, f.worst_place, "
        "f.main_reason, st.capacity FROM properties_sessionfit f "
        "JOIN properties_stand st ON st.id = f.stand_id WHERE st.property_id = %s "
        f"AND f.local_date BETWEEN '{first_on}' AND '{last_on}' "
        "ORDER BY f.local_date, f.kind, f.fit DESC"
    )
    return _plain(sql, names, _key(ground.small), json_members=())


STAND_JSON = ("approach_route", "exit_route", "settings")


def _plain(sql: str, names: list[str], key: str, *, json_members: tuple[str, ...]) -> Plain:
    """Rows straight from the driver; what it gives as text of JSON is read as JSON."""
    driver = _driver()
    text_of_json = connection.vendor == "sqlite"
    marked = sql.replace("%s", "?") if connection.vendor == "sqlite" else sql

    def answer() -> bytes:
        cursor = driver.cursor()
        cursor.execute(marked, (key,))
        rows: list[dict[str, Any]] = [
            dict(zip(names, row, strict=True)) for row in cursor.fetchall()
        ]
        if text_of_json:
            for row in rows:
                for member in json_members:
                    if row[member] is not None:
                        row[member] = orjson.loads(row[member])
        return orjson.dumps({"results": rows}, default=str)

    return answer


def _driver() -> Any:
    """A connection of its own, that Django does not know."""
    settings = connection.settings_dict
    if connection.vendor == "sqlite":
        import sqlite3

        return sqlite3.connect(settings["NAME"])
    import psycopg

    return psycopg.connect(
        host=settings["HOST"],
        port=settings["PORT"],
        user=settings["USER"],
        dbname=settings["NAME"],
        autocommit=True,
    )


def _key(identity: Any) -> str:
    return identity.hex if connection.vendor == "sqlite" else str(identity)
