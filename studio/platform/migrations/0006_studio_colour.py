import django.db.models as m
from django.db import migrations

import studio.platform.colour


class Migration(migrations.Migration):
    dependencies = [("platform", "0005_moved")]

    operations = [
        migrations.AddField("studio", "version", m.PositiveIntegerField(default=1, editable=False)),
        migrations.AddField(
            "studio",
            "colour",
            m.CharField(
                default=studio.platform.colour.HOUSE_COLOUR,
                db_default=studio.platform.colour.HOUSE_COLOUR,
                max_length=7,
            ),
        ),
        migrations.AddConstraint(
            "studio",
            m.CheckConstraint(condition=m.Q(colour__regex="^#[0-9a-f]{6}$"), name="studio_colour_hex"),
        ),
    ]
