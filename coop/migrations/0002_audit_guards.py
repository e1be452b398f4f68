from django.db import migrations

from coop.audit.guards import FIRST_INSTALL, REMOVE


def install(apps, schema_editor):
    for statement in FIRST_INSTALL[schema_editor.connection.vendor]:
        schema_editor.execute(statement)


def remove(apps, schema_editor):
    for statement in REMOVE[schema_editor.connection.vendor]:
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("coop", "0001_initial")]
    operations = [migrations.RunPython(install, remove)]
