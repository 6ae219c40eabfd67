"""Charts, pieces and flat measures, a studio's own ease rules, and what is done with a plan.

The function of role eraser forgets a client's part of it before the rest of her plans goes: sheets in the making are
stopped first (see 0003), then ticks, overrules and sheets go. Answers that were kept for repeated requests name these
rows and go too.
"""

import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models

from studio.platform.database.functions import make_function


ERASE = """
declare
  ids text[];
begin
  update platform_job set arguments = '{}', result = '{}', error = '', progress_words = '', lease_until = null,
      state = case when state in ('waiting', 'working') then 'cancelled' else state end,
      ended_at = coalesce(ended_at, now())
  where id in (select job_id from fitting_cuttingsheet where client_id = who);

  ids := array(select id::text from fitting_cuttingsheet where client_id = who);
  delete from platform_storedanswer a
  where exists (select from unnest(ids) as mention
                where strpos(coalesce(a.body, 'null'::jsonb)::text || a.headers::text, mention) > 0);

  delete from fitting_cuttingsheet where client_id = who;
  delete from fitting_plantick where plan_id in (select id from fitting_fitplan where client_id = who);
  delete from fitting_planoverrule where plan_id in (select id from fitting_fitplan where client_id = who);
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "fitting_erase_paper(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0003_stop_reports'),
        ('platform', '0002_doors'),
        ('studio', '0004_erase_enrolments'),
    ]

    operations = [
        migrations.CreateModel(
            name='BodyChart',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('source', models.CharField(max_length=300)),
                ('unit', models.CharField(choices=[('cm', 'centimetres'), ('in', 'inches')], default='cm', max_length=2)),
                ('base_height_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('base_cup_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('notes', models.TextField(blank=True, max_length=2000)),
            ],
            options={
                'verbose_name': 'body chart',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='bodychart_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='bodychart_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='bodychart_name_once')],
            },
        ),
        migrations.CreateModel(
            name='ChartSize',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('chart', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='sizes', to='fitting.bodychart')),
                ('name', models.CharField(max_length=16)),
                ('place', models.PositiveSmallIntegerField()),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='chartsize_studio_id'), studio.platform.database.constraints.StudioReference(field='chart', name='chartsize_chart_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='chartsize_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'chart', 'name'), name='chartsize_name_once'), models.UniqueConstraint(fields=('studio', 'chart', 'place'), name='chartsize_place_once')],
            },
        ),
        migrations.CreateModel(
            name='ChartMeasure',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('size', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='measures', to='fitting.chartsize')),
                ('measure', models.CharField(max_length=64)),
                ('value', models.DecimalField(decimal_places=4, max_digits=10)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='chartmeasure_studio_id'), studio.platform.database.constraints.StudioReference(field='size', name='chartmeasure_size_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='chartmeasure_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'size', 'measure'), name='chartmeasure_once'), models.CheckConstraint(condition=models.Q(('value__gt', 0)), name='chartmeasure_is_positive')],
            },
        ),
        migrations.CreateModel(
            name='OwnEaseSet',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('title', models.CharField(max_length=120)),
                ('follows', models.CharField(blank=True, max_length=64)),
                ('notes', models.TextField(blank=True, max_length=2000)),
            ],
            options={
                'verbose_name': 'ease set',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='owneaseset_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='owneaseset_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'title'), name='owneaseset_title_once')],
            },
        ),
        migrations.CreateModel(
            name='OwnEaseRule',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('ease_set', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='rules', to='fitting.owneaseset')),
                ('kind', models.CharField(choices=[('skirt', 'Skirt'), ('trousers', 'Trousers'), ('bodice', 'Bodice'), ('dress', 'Dress'), ('shirt', 'Shirt'), ('jacket', 'Jacket'), ('tshirt', 'T-shirt')], max_length=16)),
                ('zone', models.CharField(max_length=32)),
                ('closeness', models.CharField(choices=[('close', 'Close'), ('fitted', 'Fitted'), ('semi_fitted', 'Semi-fitted'), ('loose', 'Loose')], max_length=16)),
                ('structure', models.CharField(choices=[('woven', 'Woven'), ('knit', 'Knit')], max_length=8)),
                ('stretch', models.CharField(blank=True, max_length=16)),
                ('low_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('target_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('high_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('source', models.CharField(max_length=200)),
                ('note', models.CharField(blank=True, max_length=300)),
            ],
            options={
                'verbose_name': 'ease rule',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='owneaserule_studio_id'), studio.platform.database.constraints.StudioReference(field='ease_set', name='owneaserule_ease_set_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='owneaserule_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'ease_set', 'kind', 'zone', 'closeness', 'structure', 'stretch'), name='owneaserule_once'), models.CheckConstraint(condition=models.Q(('low_mm__lte', models.F('target_mm')), ('target_mm__lte', models.F('high_mm'))), name='owneaserule_in_order')],
            },
        ),
        migrations.AddField(
            model_name='pattern',
            name='chart',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.bodychart'),
        ),
        migrations.AddConstraint(
            model_name='pattern',
            constraint=studio.platform.database.constraints.StudioReference(field='chart', name='pattern_chart_same_studio'),
        ),
        migrations.AddField(
            model_name='patternmeasure',
            name='from_pieces',
            field=models.BooleanField(default=False),
        ),
        migrations.CreateModel(
            name='PatternPiece',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('pattern', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='pieces', to='fitting.pattern')),
                ('name', models.CharField(max_length=60)),
                ('place', models.PositiveSmallIntegerField()),
                ('cut', models.PositiveSmallIntegerField(default=2)),
                ('on_fold', models.BooleanField(default=False)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='patternpiece_studio_id'), studio.platform.database.constraints.StudioReference(field='pattern', name='patternpiece_pattern_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='patternpiece_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'pattern', 'name'), name='patternpiece_name_once')],
            },
        ),
        migrations.CreateModel(
            name='FlatMeasure',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('piece', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='flats', to='fitting.patternpiece')),
                ('size', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='flats', to='fitting.patternsize')),
                ('measure', models.CharField(max_length=64)),
                ('width_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('times', models.PositiveSmallIntegerField(default=1)),
                ('allowances', models.JSONField(blank=True, default=list)),
                ('intakes', models.JSONField(blank=True, default=list)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='flatmeasure_studio_id'), studio.platform.database.constraints.StudioReference(field='piece', name='flatmeasure_piece_same_studio'), studio.platform.database.constraints.StudioReference(field='size', name='flatmeasure_size_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='flatmeasure_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'piece', 'size', 'measure'), name='flatmeasure_once'), models.CheckConstraint(condition=models.Q(('width_mm__gt', 0), ('times__gte', 1)), name='flatmeasure_is_positive')],
            },
        ),
        migrations.CreateModel(
            name='PlanOverrule',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('plan', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='overrules', to='fitting.fitplan')),
                ('what', models.CharField(choices=[('size', 'Size'), ('amount', 'Amount')], max_length=8)),
                ('zone', models.CharField(max_length=32)),
                ('size', models.CharField(blank=True, max_length=16)),
                ('amount_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('withdrawn', models.BooleanField(default=False)),
                ('reason', models.CharField(max_length=400)),
                ('by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'verbose_name': 'overrule',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='planoverrule_studio_id'), studio.platform.database.constraints.StudioReference(field='plan', name='planoverrule_plan_same_studio'), studio.platform.database.constraints.StudioReference(field='by', name='planoverrule_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='planoverrule_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='planoverrule_is_kept'), models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='planoverrule_has_reason')],
            },
        ),
        migrations.CreateModel(
            name='PlanTick',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('plan', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='ticks', to='fitting.fitplan')),
                ('line', models.CharField(max_length=80)),
                ('done', models.BooleanField(default=True)),
                ('by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'verbose_name': 'tick',
                'indexes': [models.Index(fields=['studio', 'plan', 'line', '-at'], name='plantick_newest')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='plantick_studio_id'), studio.platform.database.constraints.StudioReference(field='plan', name='plantick_plan_same_studio'), studio.platform.database.constraints.StudioReference(field='by', name='plantick_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='plantick_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='plantick_is_kept')],
            },
        ),
        migrations.CreateModel(
            name='CuttingSheet',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('plan', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='sheets', to='fitting.fitplan')),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('snapshot', models.JSONField()),
                ('job', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.job')),
                ('file', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.storedfile')),
                ('pages', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('asked_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
            ],
            options={
                'verbose_name': 'cutting sheet',
                'indexes': [models.Index(fields=['studio', 'client'], name='cuttingsheet_of_client')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='cuttingsheet_studio_id'), studio.platform.database.constraints.StudioReference(field='plan', name='cuttingsheet_plan_same_studio'), studio.platform.database.constraints.StudioReference(field='client', name='cuttingsheet_client_same_studio'), studio.platform.database.constraints.StudioReference(field='job', name='cuttingsheet_job_same_studio'), studio.platform.database.constraints.StudioReference(field='file', name='cuttingsheet_file_same_studio'), studio.platform.database.constraints.StudioReference(field='asked_by', name='cuttingsheet_asked_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='cuttingsheet_of_studio', owned_by_door=False)],
            },
        ),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
