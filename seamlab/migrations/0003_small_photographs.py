import django.db.models.deletion
from django.db import migrations, models

import studio.platform.database.constraints


class Migration(migrations.Migration):
    dependencies = [
        ("platform", "0004_jobs_and_tidying"),
        ("seamlab", "0002_cloth_on_the_shelf_and_samples"),
    ]

    operations = [
        migrations.AddField(
            model_name="clothphoto",
            name="small",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="platform.storedfile",
            ),
        ),
        migrations.AddConstraint(
            model_name="clothphoto",
            constraint=studio.platform.database.constraints.StudioReference(
                field="small", name="clothphoto_small_same_studio"
            ),
        ),
    ]
