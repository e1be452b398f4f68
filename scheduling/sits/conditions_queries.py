"""What conditions told of a property mean for its sessions: the worst that touches each."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from properties.conditions.models import Condition, ConditionKind
from properties.conditions.queries import standing_between, touches
from properties.sessions.kinds import SessionKey
from properties.sessions.windows import SessionWindow

WindowAt = tuple[UUID, SessionKey]


def conditions_of_windows(
    windows: Mapping[WindowAt, SessionWindow],
) -> Mapping[WindowAt, list[Condition]]:
    """The conditions that touch each session's window, walk in and out included; one query."""
    if not windows:
        return {}
    by_property: dict[UUID, list[tuple[WindowAt, SessionWindow]]] = defaultdict(list)
    for key, window in windows.items():
        by_property[key[0]].append((key, window))
    found: dict[WindowAt, list[Condition]] = defaultdict(list)
    for condition in standing_between(
        property_ids=by_property.keys(),
        starts_at=min(window.approach_from for window in windows.values()),
        ends_at=max(window.exit_until for window in windows.values()),
    ):
        for key, window in by_property[condition.property_id]:
            if touches(condition, window.approach_from, window.exit_until):
                found[key].append(condition)
    return found


def weather_told(conditions: Iterable[Condition]) -> dict[str, Any]:
    """The session's facts of weather: of several conditions of a kind the worst."""
    conditions = list(conditions)

    def worst(figure: str) -> Any:
        known = [getattr(row, figure) for row in conditions if getattr(row, figure) is not None]
        return max(known, default=None)

    return {
        "thunder_chance": worst("thunder_chance"),
        "fire_danger": worst("fire_danger_level"),
        "river_stage_m": worst("water_level_m"),
        "has_ice": any(row.kind == ConditionKind.ICE for row in conditions),
    }
