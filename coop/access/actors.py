"""Who asks: a person, an outfitter's application, the system itself, or nobody known."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from uuid import UUID

from django.core.exceptions import PermissionDenied

from coop.access.roles import Action, Role, roles_allowed, scope_of


class ActorKind(StrEnum):
    PERSON = "person"
    APPLICATION = "application"
    SYSTEM = "system"
    ANONYMOUS = "anonymous"


class OutOfScope(PermissionDenied):
    """An application's token lacks ``scope``, whatever its role allows."""

    def __init__(self, scope: str) -> None:
        super().__init__(f"needs the scope {scope}")
        self.scope = scope


class MemberNotAllowed(PermissionDenied):
    """What was asked for may be done, but not with this member of what was sent."""

    def __init__(self, member: str, why: str) -> None:
        super().__init__(f"{member}: {why}")
        self.member = member
        self.why = why


@dataclass(frozen=True, kw_only=True)
class Grants:
    """The roles somebody holds: by property, and by cooperative for a coordinator."""

    person_id: UUID | None = None
    by_property: Mapping[UUID, frozenset[Role]] = field(default_factory=dict)
    by_cooperative: Mapping[UUID, frozenset[Role]] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Actor:
    """Somebody with grants; asked before anything is shown or done.

    ``actions`` narrows what the roles allow (the scopes of an application's token);
    ``None`` means no narrowing.
    """

    kind: ActorKind
    id: str
    name: str
    grants: Grants = field(default_factory=Grants)
    actions: frozenset[Action] | None = None

    @property
    def is_system(self) -> bool:
        return self.kind is ActorKind.SYSTEM

    @property
    def is_known(self) -> bool:
        return self.kind is not ActorKind.ANONYMOUS

    @property
    def account_id(self) -> UUID | None:
        """The account of a signed-in person; applications and the system have none."""
        return UUID(self.id) if self.kind is ActorKind.PERSON else None

    @property
    def person_id(self) -> UUID | None:
        return self.grants.person_id

    def is_one_of(self, *person_ids: UUID | None) -> bool:
        """Whether the actor is one of these persons; who is no person is not whoever is missing."""
        return self.person_id is not None and self.person_id in person_ids

    def may(self, action: Action, property_id: UUID) -> bool:
        """Whether this actor may take ``action`` on a property."""
        if self.is_system:
            return True
        return self._in_scope(action) and bool(
            self.grants.by_property.get(property_id, frozenset()) & roles_allowed(action)
        )

    def may_in_cooperative(self, action: Action, cooperative_id: UUID) -> bool:
        """Whether this actor may take ``action`` on a whole cooperative."""
        if self.is_system:
            return True
        return self._in_scope(action) and bool(
            self.grants.by_cooperative.get(cooperative_id, frozenset()) & roles_allowed(action)
        )

    def require(self, action: Action, property_id: UUID) -> None:
        """Raise :class:`PermissionDenied` unless the action may be taken on the property."""
        if not self.may(action, property_id):
            raise self._denied(action, "on this property")

    def require_to_name(self, member: str, action: Action, property_id: UUID, *, why: str) -> None:
        """The same for what only a member of what was sent asks for, which the refusal names."""
        if self.may(action, property_id):
            return
        denied = self._denied(action, "on this property")
        raise denied if isinstance(denied, OutOfScope) else MemberNotAllowed(member, why)

    def require_in_cooperative(self, action: Action, cooperative_id: UUID) -> None:
        """Raise :class:`PermissionDenied` unless the action may be taken on the cooperative."""
        if not self.may_in_cooperative(action, cooperative_id):
            raise self._denied(action, "in this cooperative")

    def require_somewhere(self, action: Action) -> None:
        """Raise :class:`PermissionDenied` unless the action may be taken on some property."""
        if not self.may_somewhere(action):
            raise self._denied(action, "anywhere")

    def may_somewhere(self, action: Action) -> bool:
        """Whether this actor may take ``action`` on any property at all."""
        return self.is_system or bool(self.properties_for(action))

    def properties_for(self, action: Action) -> frozenset[UUID]:
        """Ids of the properties on which this actor may take ``action``; not for the system."""
        return frozenset(
            property_id for property_id in self.grants.by_property if self.may(action, property_id)
        )

    def cooperatives_for(self, action: Action) -> frozenset[UUID]:
        """Ids of the cooperatives on which this actor may take ``action``; not for the system."""
        return frozenset(
            cooperative_id
            for cooperative_id in self.grants.by_cooperative
            if self.may_in_cooperative(action, cooperative_id)
        )

    def roles_on(self, property_id: UUID) -> frozenset[Role]:
        return self.grants.by_property.get(property_id, frozenset())

    def _in_scope(self, action: Action) -> bool:
        return self.actions is None or action in self.actions

    def _denied(self, action: Action, where: str) -> PermissionDenied:
        scope = None if self._in_scope(action) else scope_of(action)
        if scope is not None:
            return OutOfScope(scope)
        return PermissionDenied(f"{action} is not allowed to you {where}")


ANONYMOUS = Actor(kind=ActorKind.ANONYMOUS, id="", name="anonymous")


def system_actor(name: str) -> Actor:
    """The actor in whose name a job or command writes; ``name`` says which."""
    return Actor(kind=ActorKind.SYSTEM, id=name, name=name)


GrantsLookup = Callable[[UUID], Grants]

_lookups: dict[ActorKind, GrantsLookup] = {}


def register_grants_lookup(kind: ActorKind, lookup: GrantsLookup) -> None:
    """Tell how the roles of a kind of actor are found; ``people`` does so when it is ready."""
    _lookups[kind] = lookup


def person_actor(user_id: UUID, name: str) -> Actor:
    """The actor for a signed-in person."""
    grants = _lookups[ActorKind.PERSON](user_id)
    return Actor(kind=ActorKind.PERSON, id=str(user_id), name=name, grants=grants)


def application_actor(application_id: UUID, name: str, actions: Iterable[Action]) -> Actor:
    """The actor for an outfitter's application with the actions its token's scopes allow."""
    grants = _lookups[ActorKind.APPLICATION](application_id)
    return Actor(
        kind=ActorKind.APPLICATION,
        id=str(application_id),
        name=name,
        grants=grants,
        actions=frozenset(actions),
    )
