"""Querysets narrowed to an actor's reach and own rows: nobody sees more by forgetting."""

from datetime import date

import pytest

from coop.access.actors import ANONYMOUS, system_actor
from coop.access.roles import Action
from coop.access.scoping import scoped, scoped_with_own
from scheduling.sits.models import SitRequest

pytestmark = pytest.mark.django_db


@pytest.fixture
def wishes(cast):
    """Mia's in the north, where she belongs, and in the south; Otto's in the south."""

    def wish(person, land):
        return SitRequest.objects.create(
            property=land,
            person=person,
            first_on=date(2025, 11, 1),
            last_on=date(2025, 11, 30),
            wanted_sits=1,
        )

    return {
        "mia north": wish(cast.member, cast.north),
        "mia south": wish(cast.member, cast.south),
        "otto south": wish(cast.other_member, cast.south),
    }


def seen(rows, wishes):
    ids = set(rows.values_list("id", flat=True))
    return {name for name, wish in wishes.items() if wish.id in ids}


def with_own(actor, **more):
    return scoped_with_own(
        SitRequest.objects.all(), actor=actor, action=Action.SIT_MANAGE, own=("person",), **more
    )


@pytest.mark.parametrize(
    ("who", "everywhere", "where_roles_allow"),
    [
        ("member", {"mia north", "mia south"}, {"mia north"}),
        ("other_member", {"otto south"}, {"otto south"}),
        ("manager", {"mia north"}, {"mia north"}),
        ("stranger", set(), set()),
    ],
)
def test_one_sees_the_rows_within_reach_and_ones_own(
    cast, wishes, who, everywhere, where_roles_allow
):
    actor = cast.actor(getattr(cast, who))

    assert seen(with_own(actor), wishes) == everywhere
    assert seen(with_own(actor, own_action=Action.REQUEST_READ), wishes) == where_roles_allow


def test_the_system_sees_all_and_whoever_is_nobody_sees_nothing(wishes):
    assert seen(with_own(system_actor("test")), wishes) == set(wishes)
    assert seen(with_own(ANONYMOUS), wishes) == set()


def test_an_application_has_no_rows_of_its_own(cast, wishes):
    assert seen(with_own(cast.application()), wishes) == set()


def test_a_row_is_ones_own_by_any_of_the_columns(cast, wishes):
    mia = cast.actor(cast.member)
    by_either = scoped_with_own(
        SitRequest.objects.all(),
        actor=mia,
        action=Action.SIT_MANAGE,
        own=("person__host", "person"),
    )
    assert seen(by_either, wishes) == {"mia north", "mia south"}


def test_without_own_rows_the_reach_alone_counts(cast, wishes):
    manager = cast.actor(cast.manager)
    rows = scoped(SitRequest.objects.all(), actor=manager, action=Action.SIT_MANAGE)
    assert seen(rows, wishes) == {"mia north"}
