"""A garment's seams get their length, cloth and colours: what thread and time the sewing takes follows from them."""

import django.db.models.deletion
import studio.platform.database.constraints
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0005_fit_notes'),
        ('seamlab', '0002_cloth_on_the_shelf_and_samples'),
    ]

    operations = [
        migrations.AddField(
            model_name='garmentseam',
            name='cloth',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.cloth'),
        ),
        migrations.AddField(
            model_name='garmentseam',
            name='length_mm',
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True),
        ),
        migrations.AddField(
            model_name='garmentseam',
            name='times',
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AddField(
            model_name='garmentseam',
            name='needle_colour',
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name='garmentseam',
            name='under_colour',
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddConstraint(
            model_name='garmentseam',
            constraint=studio.platform.database.constraints.StudioReference(field='cloth', name='garmentseam_cloth_same_studio'),
        ),
    ]
