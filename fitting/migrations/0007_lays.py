"""Outlines of pieces, lays with their drawings, grain at the table, remnants."""

import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0006_seam_lengths'),
        ('platform', '0004_jobs_and_tidying'),
        ('seamlab', '0003_small_photographs'),
    ]

    operations = [
        migrations.CreateModel(
            name='LayPlan',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('direction', models.CharField(max_length=16)),
                ('width_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('most_length_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('folded', models.BooleanField(default=False)),
                ('washed_first', models.BooleanField(default=False)),
                ('change_percent', models.DecimalField(blank=True, decimal_places=2, max_digits=7, null=True)),
                ('repeat_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('matched', models.PositiveSmallIntegerField(default=0)),
                ('end_allowance_mm', models.DecimalField(decimal_places=4, default=0, max_digits=10)),
                ('cutting_unit_mm', models.DecimalField(decimal_places=4, default=100, max_digits=10)),
                ('seconds', models.PositiveSmallIntegerField(default=20)),
                ('pieces', models.JSONField()),
                ('chosen', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('cloth', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.cloth')),
                ('job', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.job')),
                ('planned_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'lay',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='layplan_studio_id'), studio.platform.database.constraints.StudioReference(field='cloth', name='layplan_cloth_same_studio'), studio.platform.database.constraints.StudioReference(field='job', name='layplan_job_same_studio'), studio.platform.database.constraints.StudioReference(field='planned_by', name='layplan_planned_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='layplan_of_studio', owned_by_door=False), models.CheckConstraint(condition=models.Q(('width_mm__gt', 0)), name='layplan_has_width')],
                'indexes': [models.Index(fields=['studio', 'cloth'], name='layplan_of_cloth')],
            },
        ),
        migrations.CreateModel(
            name='LayLine',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('times', models.PositiveSmallIntegerField(default=1)),
                ('garment', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.garment')),
                ('pattern', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.pattern')),
                ('size', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.patternsize')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('lay', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='lines', to='fitting.layplan')),
            ],
            options={
                'verbose_name': 'line of a lay',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='layline_studio_id'), studio.platform.database.constraints.StudioReference(field='lay', name='layline_lay_same_studio'), studio.platform.database.constraints.StudioReference(field='pattern', name='layline_pattern_same_studio'), studio.platform.database.constraints.StudioReference(field='size', name='layline_size_same_studio'), studio.platform.database.constraints.StudioReference(field='garment', name='layline_garment_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='layline_of_studio', owned_by_door=False), models.CheckConstraint(condition=models.Q(('times__gte', 1)), name='layline_at_least_once')],
                'indexes': [models.Index(fields=['studio', 'garment'], name='layline_of_garment')],
            },
        ),
        migrations.CreateModel(
            name='LayDrawing',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('number', models.PositiveSmallIntegerField()),
                ('way', models.CharField(choices=[('one_way', 'One way'), ('two_way', 'Two ways'), ('by_hand', 'Laid by hand')], max_length=8)),
                ('placements', models.JSONField()),
                ('length_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('density_percent', models.DecimalField(decimal_places=2, max_digits=5)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('made_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('lay', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='drawings', to='fitting.layplan')),
            ],
            options={
                'verbose_name': 'drawing of a lay',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='laydrawing_studio_id'), studio.platform.database.constraints.StudioReference(field='lay', name='laydrawing_lay_same_studio'), studio.platform.database.constraints.StudioReference(field='made_by', name='laydrawing_made_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='laydrawing_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='laydrawing_is_kept'), models.UniqueConstraint(fields=('studio', 'lay', 'number'), name='laydrawing_number_once'), models.CheckConstraint(condition=models.Q(('length_mm__gt', 0)), name='laydrawing_has_length')],
            },
        ),
        migrations.CreateModel(
            name='GrainCheck',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('key', models.CharField(max_length=80)),
                ('copy', models.PositiveSmallIntegerField(default=1)),
                ('distance_a_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('distance_b_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('line_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('degrees', models.DecimalField(decimal_places=2, max_digits=6)),
                ('tolerance', models.DecimalField(decimal_places=2, max_digits=4)),
                ('within', models.BooleanField()),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('lay', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='grain_checks', to='fitting.layplan')),
            ],
            options={
                'verbose_name': 'grain check',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='graincheck_studio_id'), studio.platform.database.constraints.StudioReference(field='lay', name='graincheck_lay_same_studio'), studio.platform.database.constraints.StudioReference(field='by', name='graincheck_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='graincheck_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='graincheck_is_kept')],
                'indexes': [models.Index(fields=['studio', 'lay', 'key', '-at'], name='graincheck_newest')],
            },
        ),
        migrations.CreateModel(
            name='GrainChange',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('key', models.CharField(max_length=80)),
                ('degrees', models.DecimalField(decimal_places=2, max_digits=6)),
                ('reason', models.CharField(max_length=400)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('lay', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='grain_changes', to='fitting.layplan')),
            ],
            options={
                'verbose_name': 'grain change',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='grainchange_studio_id'), studio.platform.database.constraints.StudioReference(field='lay', name='grainchange_lay_same_studio'), studio.platform.database.constraints.StudioReference(field='by', name='grainchange_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='grainchange_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='grainchange_is_kept'), models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='grainchange_has_reason')],
            },
        ),
        migrations.CreateModel(
            name='OutlineFile',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('kind', models.CharField(choices=[('svg', 'SVG'), ('dxf', 'DXF')], max_length=4)),
                ('answers', models.JSONField(blank=True, default=dict)),
                ('used_at', models.DateTimeField(blank=True, null=True)),
                ('added_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('file', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.storedfile')),
                ('pattern', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='outline_files', to='fitting.pattern')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'drawing',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='outlinefile_studio_id'), studio.platform.database.constraints.StudioReference(field='pattern', name='outlinefile_pattern_same_studio'), studio.platform.database.constraints.StudioReference(field='file', name='outlinefile_file_same_studio'), studio.platform.database.constraints.StudioReference(field='added_by', name='outlinefile_added_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='outlinefile_of_studio', owned_by_door=False)],
                'indexes': [models.Index(fields=['studio', 'pattern', '-created_at'], name='outlinefile_of_pattern')],
            },
        ),
        migrations.CreateModel(
            name='PieceOutline',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('drawing', models.JSONField()),
                ('source', models.CharField(choices=[('drafted', 'Drafted from the size table'), ('svg', 'Read from an SVG drawing'), ('dxf', 'Read from a DXF')], max_length=8)),
                ('piece', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='outlines', to='fitting.patternpiece')),
                ('recorded_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('size', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='outlines', to='fitting.patternsize')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'outline',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='pieceoutline_studio_id'), studio.platform.database.constraints.StudioReference(field='piece', name='pieceoutline_piece_same_studio'), studio.platform.database.constraints.StudioReference(field='size', name='pieceoutline_size_same_studio'), studio.platform.database.constraints.StudioReference(field='recorded_by', name='pieceoutline_recorded_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='pieceoutline_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'piece', 'size'), name='pieceoutline_once')],
            },
        ),
        migrations.CreateModel(
            name='Remnant',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('length_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('width_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('is_washed', models.BooleanField(default=False)),
                ('place', models.CharField(blank=True, max_length=120)),
                ('note', models.CharField(blank=True, max_length=200)),
                ('is_gone', models.BooleanField(default=False)),
                ('cloth', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.cloth')),
                ('from_lay', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.layplan')),
                ('kept_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('used_in', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='remnants', to='fitting.layplan')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='remnant_studio_id'), studio.platform.database.constraints.StudioReference(field='cloth', name='remnant_cloth_same_studio'), studio.platform.database.constraints.StudioReference(field='from_lay', name='remnant_from_lay_same_studio'), studio.platform.database.constraints.StudioReference(field='used_in', name='remnant_used_in_same_studio'), studio.platform.database.constraints.StudioReference(field='kept_by', name='remnant_kept_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='remnant_of_studio', owned_by_door=False), models.CheckConstraint(condition=models.Q(('length_mm__gt', 0), ('width_mm__gt', 0)), name='remnant_has_a_size')],
                'indexes': [models.Index(fields=['studio', 'cloth'], name='remnant_of_cloth')],
            },
        ),
    ]
