"""Which property a command means: by its id, by its name, or all that stand."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from properties.land.models import Property
from properties.management.commands._property import properties_chosen, property_named
from tests.cast import NOW


def renamed(land, name):
    Property.objects.filter(id=land.id).update(name=name)
    return land


def test_a_property_is_named_by_its_id_or_its_name_in_any_capitals(cast):
    for text in (str(cast.north.id), "North", "north"):
        assert property_named(text) == cast.north, text


def test_the_name_as_it_is_written_goes_before_one_in_other_capitals(cast):
    renamed(cast.south, "north")

    assert property_named("north") == cast.south
    assert property_named("North") == cast.north
    with pytest.raises(CommandError, match=f"give the id: .*{cast.south.id}"):
        property_named("NORTH")


def test_two_cooperatives_properties_of_one_name_are_told_apart_by_their_ids_alone(cast):
    other = renamed(cast.foreign, "North")

    with pytest.raises(CommandError, match="several"):
        property_named("North")
    assert property_named(str(other.id)) == other


def test_a_name_that_nobody_knows_or_that_was_retired_is_refused_with_those_known(cast):
    Property.objects.filter(id=cast.south.id).update(retired_at=NOW)

    for text in ("Nowhere", cast.south.name, str(cast.south.id)):
        with pytest.raises(CommandError, match=r"known: .*North"):
            property_named(text)


def test_without_a_name_all_that_stand_are_meant_in_order(cast):
    Property.objects.filter(id=cast.south.id).update(retired_at=NOW)

    assert properties_chosen("North") == [cast.north]
    chosen = properties_chosen(None)
    assert cast.north in chosen
    assert cast.south not in chosen
    assert [(land.cooperative.name, land.name) for land in chosen] == sorted(
        (land.cooperative.name, land.name) for land in chosen
    )


@pytest.mark.parametrize("command", ["computefits", "learnwind", "workwaitinglist"])
def test_a_command_goes_through_all_that_stand_or_the_one_named(cast, command):
    Property.objects.filter(id=cast.south.id).update(retired_at=NOW)

    def told(*more):
        out = StringIO()
        call_command(command, *more, stdout=out)
        return [line.partition(":")[0] for line in out.getvalue().splitlines()]

    assert told() == [land.name for land in properties_chosen(None)]
    assert told("--property", "north") == ["North"]
