"""Tickets for finished garments, their jobs, payments, history and slips; the price list; and the function that forgets.

Of an erased client the ticket's technical facts stay (what was done, how much, what was paid and when), without a word
about her: the books of the shop are kept by law longer than a person is.
"""

import django.core.validators
import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models

from studio.platform.database.functions import make_function


ERASE = """
declare
  mine uuid[];
  ids text[];
begin
  mine := array(select t.id from fitting_ticket t join fitting_garment g on g.id = t.garment_id where g.client_id = who);

  update platform_job set arguments = '{}', result = '{}', error = '', progress_words = '', lease_until = null,
      state = case when state in ('waiting', 'working') then 'cancelled' else state end,
      ended_at = coalesce(ended_at, now())
  where id in (select job_id from fitting_ticketslip where client_id = who)
     or kind = 'ready_notice' and arguments->>'ticket' in (select unnest(mine)::text);

  ids := array(select unnest(mine)::text)
    || array(select id::text from fitting_ticketslip where client_id = who);
  delete from platform_storedanswer a
  where exists (select from unnest(ids) as mention
                where strpos(coalesce(a.body, 'null'::jsonb)::text || a.headers::text, mention) > 0);

  delete from fitting_ticketslip where client_id = who;
  update fitting_ticketevent set words = '' where ticket_id = any(mine);
  update fitting_ticketpayment set note = '' where ticket_id = any(mine);
  update fitting_ticketjob set "where" = '', reason = '' where ticket_id = any(mine);
  update fitting_ticket set note = '', version = version + 1, changed_at = now() where id = any(mine);
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "fitting_erase_tickets(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0008_appointments'),
        ('platform', '0004_jobs_and_tidying'),
        ('studio', '0005_trust_learnt'),
    ]

    operations = [
        migrations.AddField(
            model_name='garment',
            name='ready_made',
            field=models.BooleanField(default=False),
        ),
        migrations.CreateModel(
            name='Counter',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('currency', models.CharField(blank=True, max_length=3)),
                ('last_number', models.PositiveIntegerField(default=1000, editable=False)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='counter_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='counter_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio',), name='counter_once_per_studio')],
            },
        ),
        migrations.CreateModel(
            name='Price',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('job', models.CharField(max_length=24)),
                ('kind', models.CharField(blank=True, choices=[('skirt', 'Skirt'), ('trousers', 'Trousers'), ('bodice', 'Bodice'), ('dress', 'Dress'), ('shirt', 'Shirt'), ('jacket', 'Jacket'), ('tshirt', 'T-shirt')], max_length=16)),
                ('words', models.CharField(blank=True, max_length=80)),
                ('minor', models.PositiveIntegerField(validators=[django.core.validators.MaxValueValidator(99999999)])),
                ('active', models.BooleanField(default=True)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='price_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='price_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'job', 'kind', 'words'), name='price_line_once')],
            },
        ),
        migrations.CreateModel(
            name='Ticket',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('number', models.PositiveIntegerField()),
                ('state', models.CharField(choices=[('taken_in', 'Taken in'), ('in_work', 'In work'), ('ready', 'Ready'), ('handed_over', 'Handed over'), ('given_up', 'Given up')], default='taken_in', max_length=12)),
                ('due', models.DateField(blank=True, null=True)),
                ('currency', models.CharField(max_length=3)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('garment', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='tickets', to='fitting.garment')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('taken_in_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='ticket_studio_id'), studio.platform.database.constraints.StudioReference(field='garment', name='ticket_garment_same_studio'), studio.platform.database.constraints.StudioReference(field='taken_in_by', name='ticket_taken_in_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='ticket_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'number'), name='ticket_number_once')],
                'indexes': [models.Index(fields=['studio', 'state', 'due'], name='ticket_by_due'), models.Index(fields=['studio', 'garment'], name='ticket_of_garment')],
            },
        ),
        migrations.CreateModel(
            name='TicketJob',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('place', models.PositiveSmallIntegerField()),
                ('job', models.CharField(max_length=24)),
                ('where', models.CharField(blank=True, max_length=120)),
                ('amount_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('allowance_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('keep_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('edges', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('price_minor', models.PositiveIntegerField(validators=[django.core.validators.MaxValueValidator(99999999)])),
                ('state', models.CharField(choices=[('to_do', 'To do'), ('done', 'Done'), ('left_out', 'Left out')], default='to_do', max_length=8)),
                ('reason', models.CharField(blank=True, max_length=200)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('ticket', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='jobs', to='fitting.ticket')),
            ],
            options={
                'verbose_name': 'job of a ticket',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='ticketjob_studio_id'), studio.platform.database.constraints.StudioReference(field='ticket', name='ticketjob_ticket_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='ticketjob_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'ticket', 'place'), name='ticketjob_place_once')],
            },
        ),
        migrations.CreateModel(
            name='TicketEvent',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('what', models.CharField(choices=[('state', 'State'), ('job', 'Job'), ('changed', 'Changed'), ('told_by_email', 'Told by email'), ('told_by_telephone', 'Told by telephone')], max_length=20)),
                ('state', models.CharField(choices=[('taken_in', 'Taken in'), ('in_work', 'In work'), ('ready', 'Ready'), ('handed_over', 'Handed over'), ('given_up', 'Given up')], max_length=12)),
                ('words', models.CharField(blank=True, max_length=400)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('ticket', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='events', to='fitting.ticket')),
            ],
            options={
                'verbose_name': 'event of a ticket',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='ticketevent_studio_id'), studio.platform.database.constraints.StudioReference(field='ticket', name='ticketevent_ticket_same_studio'), studio.platform.database.constraints.StudioReference(field='by', name='ticketevent_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='ticketevent_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='ticketevent_is_kept')],
                'indexes': [models.Index(fields=['studio', 'ticket', 'at'], name='ticketevent_of_ticket')],
            },
        ),
        migrations.CreateModel(
            name='TicketPayment',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('minor', models.IntegerField()),
                ('way', models.CharField(choices=[('cash', 'Cash'), ('card', 'Card'), ('transfer', 'Bank transfer'), ('other', 'Another way')], max_length=8)),
                ('deposit', models.BooleanField(default=False)),
                ('note', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('corrects', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.ticketpayment')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('taken_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('ticket', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='payments', to='fitting.ticket')),
            ],
            options={
                'verbose_name': 'payment',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='ticketpayment_studio_id'), studio.platform.database.constraints.StudioReference(field='ticket', name='ticketpayment_ticket_same_studio'), studio.platform.database.constraints.StudioReference(field='corrects', name='ticketpayment_corrects_same_studio'), studio.platform.database.constraints.StudioReference(field='taken_by', name='ticketpayment_taken_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='ticketpayment_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='ticketpayment_is_kept'), models.UniqueConstraint(fields=('studio', 'corrects'), name='ticketpayment_corrected_once'), models.CheckConstraint(condition=models.Q(('minor', 0), _negated=True), name='ticketpayment_is_something')],
                'indexes': [models.Index(fields=['studio', 'ticket', 'at'], name='ticketpayment_of_ticket')],
            },
        ),
        migrations.CreateModel(
            name='TicketSlip',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('number', models.PositiveSmallIntegerField()),
                ('snapshot', models.JSONField()),
                ('sha256', models.CharField(blank=True, max_length=64)),
                ('pages', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('rendered_with', models.JSONField(blank=True, default=dict)),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
                ('asked_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('file', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.storedfile')),
                ('job', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.job')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('ticket', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='slips', to='fitting.ticket')),
            ],
            options={
                'verbose_name': 'slip',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='ticketslip_studio_id'), studio.platform.database.constraints.StudioReference(field='ticket', name='ticketslip_ticket_same_studio'), studio.platform.database.constraints.StudioReference(field='client', name='ticketslip_client_same_studio'), studio.platform.database.constraints.StudioReference(field='job', name='ticketslip_job_same_studio'), studio.platform.database.constraints.StudioReference(field='file', name='ticketslip_file_same_studio'), studio.platform.database.constraints.StudioReference(field='asked_by', name='ticketslip_asked_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='ticketslip_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'ticket', 'number'), name='ticketslip_number_once')],
            },
        ),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
