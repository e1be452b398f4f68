"""Say what may be sent where something else was: the values of a choice, a list, an object."""

from collections.abc import Iterable
from typing import Any

from django import forms
from rest_framework import serializers

MOST_TOLD = 20
"""How many values of a choice a fault names; the reference has all. Common practice, no source."""
A_LIST = "Must be a list."
AN_OBJECT = "Must be an object with members."


def tell_what_is_allowed(field: Any) -> None:
    """Let a serializer's faults, however deep, say what may be sent in the words of the API."""
    if field.read_only:
        return
    if isinstance(field, serializers.ChoiceField):
        values = _told(field.choice_strings_to_values)
        if values:
            escaped = values.replace("{", "{{").replace("}", "}}")
            field.error_messages["invalid_choice"] = f'"{{input}}" is not one of: {escaped}.'
    field.error_messages |= {"not_a_list": A_LIST, "not_a_dict": AN_OBJECT}
    if isinstance(field, serializers.Serializer):
        field.error_messages["invalid"] = AN_OBJECT
        for member in field.fields.values():
            tell_what_is_allowed(member)
    child = getattr(field, "child", None)
    if child is not None:
        tell_what_is_allowed(child)


def tell_what_may_be_asked(form: forms.BaseForm) -> None:
    """The same for the parameters of a list."""
    for field in form.fields.values():
        if not isinstance(field, forms.ChoiceField) or isinstance(field, forms.ModelChoiceField):
            continue
        choices: Any = field.choices
        values = _told(value for value, _label in choices)
        if values:
            escaped = values.replace("%", "%%")
            field.error_messages["invalid_choice"] = f'"%(value)s" is not one of: {escaped}.'


def _told(values: Iterable[Any]) -> str:
    """The values with commas between; nothing where they are too many to be told."""
    named = [str(value) for value in values if value not in ("", None)]
    return ", ".join(named) if len(named) <= MOST_TOLD else ""
