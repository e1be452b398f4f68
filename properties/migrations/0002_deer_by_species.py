"""A stored list of names of deer becomes one species with those names."""

from typing import Any

from django.db import migrations


def by_species(stored: dict[str, Any]) -> dict[str, Any] | None:
    """The layer with ``visits/deer_names`` moved to ``visits/deer_species``; None: nothing to do."""
    visits = stored.get("visits", {})
    if "deer_names" not in visits:
        return None
    kept = {name: value for name, value in visits.items() if name != "deer_names"}
    others = [name for name in visits["deer_names"] if name != "deer"]
    return {**stored, "visits": {**kept, "deer_species": {"deer": others}}}


def forwards(apps: Any, _schema_editor: Any) -> None:
    for name in ("Cooperative", "Property"):
        for row in apps.get_model("properties", name).objects.exclude(settings={}):
            moved = by_species(row.settings)
            if moved is not None:
                row.settings = moved
                row.save(update_fields=["settings"])


class Migration(migrations.Migration):
    dependencies = [("properties", "0001_initial")]
    operations = [migrations.RunPython(forwards, migrations.RunPython.noop)]
