"""Which facts leave as events, what of them is told, and who may hear them.

Rooms above register theirs when ready; this room knows none of them.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from coop.access.actors import Actor
from coop.access.roles import Action

TEST = "webhook.test"

IsVisible = Callable[[Actor, Mapping[str, str]], bool]


@dataclass(frozen=True, kw_only=True)
class EventType:
    """A kind of event: a name that stays, a sentence, and the ids of the fact that it tells.

    ``needs`` is the permission that a registrant holds on the property; ``is_visible`` asks of
    one fact whether the API would show its object to an actor.
    """

    name: str
    description: str
    needs: Action
    tells: tuple[str, ...]
    is_visible: IsVisible


_by_topic: dict[str, EventType] = {}
_by_name: dict[str, EventType] = {}


def register_event(event: EventType, *, topics: Iterable[str]) -> None:
    """Publish the facts of ``topics`` to webhooks as ``event``; safe to run twice."""
    _by_name[event.name] = event
    for topic in topics:
        _by_topic[topic] = event


def event_of_topic(topic: str) -> EventType | None:
    return _by_topic.get(topic)


def event_named(name: str) -> EventType | None:
    return _by_name.get(name)


def event_types() -> tuple[EventType, ...]:
    """Every registered type, by name."""
    return tuple(_by_name[name] for name in sorted(_by_name))
