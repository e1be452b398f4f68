"""What the commands about one property have in common: how it is named on the command line."""

from uuid import UUID

from django.core.management.base import CommandError, CommandParser

from properties.land.models import Property


def add_property_argument(parser: CommandParser) -> None:
    parser.add_argument(
        "--property",
        required=True,
        metavar="ID_OR_NAME",
        help="the property's public id, or its name where only one has it",
    )


def property_named(text: str) -> Property:
    """The property by id or name, with its cooperative.

    A name as it is written goes before one in other capitals. Raises :class:`CommandError`
    where none or several fit.
    """
    standing = Property.objects.filter(retired_at=None).select_related("cooperative")
    try:
        found = list(standing.filter(id=UUID(text)))
    except ValueError:
        alike = list(standing.filter(name__iexact=text).order_by("id"))
        found = [land for land in alike if land.name == text] or alike
    if not found:
        known = ", ".join(standing.order_by("name").values_list("name", flat=True)[:20])
        raise CommandError(f"there is no property {text!r}; known: {known or 'none'}")
    if len(found) > 1:
        ids = ", ".join(str(land.id) for land in found)
        raise CommandError(f"several properties are called {text!r}; give the id: {ids}")
    return found[0]


def properties_chosen(text: str | None) -> list[Property]:
    """The one named, or else all that stand, in order of cooperative and name."""
    if text:
        return [property_named(text)]
    standing = Property.objects.filter(retired_at=None).select_related("cooperative")
    return list(standing.order_by("cooperative__name", "name", "id"))
