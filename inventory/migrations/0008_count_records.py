
import django.db.models.deletion
import finishing.fields
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0007_locations_in_place_of_texts'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='countline',
            name='last_movement',
            field=models.BigIntegerField(blank=True, help_text='The lot’s last movement in the books when it was counted; empty for a filled sheet.', null=True),
        ),
        migrations.AddField(
            model_name='stockcount',
            name='accurate_lines',
            field=models.PositiveIntegerField(default=0, help_text='Those of them within tolerance.'),
        ),
        migrations.AddField(
            model_name='stockcount',
            name='cancel_reason',
            field=models.CharField(blank=True, default='', max_length=200),
        ),
        migrations.AddField(
            model_name='stockcount',
            name='cancelled_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='stockcount',
            name='cancelled_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='counts_cancelled', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='stockcount',
            name='counted_lines',
            field=models.PositiveIntegerField(default=0, help_text='Lines that were counted, noted when it was posted.'),
        ),
        migrations.AddField(
            model_name='stockcount',
            name='difference_value',
            field=finishing.fields.MoneyField(blank=True, help_text='What the differences are worth together, with their signs.', null=True),
        ),
        migrations.AddField(
            model_name='stockcount',
            name='is_selection',
            field=models.BooleanField(default=False, help_text='It was opened for chosen materials.', verbose_name='some materials only'),
        ),
        migrations.AlterField(
            model_name='stockcount',
            name='posting',
            field=models.OneToOneField(blank=True, help_text='Empty where the shelf agreed with the books.', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='count', to='inventory.posting'),
        ),
        migrations.AddConstraint(
            model_name='stockcount',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('status', 'posted'), _negated=True), models.Q(('posted_at__isnull', False), ('posted_by__isnull', False)), _connector='OR'), name='count_posted_by_somebody', violation_error_message='A posted count says who posted it and when.'),
        ),
        migrations.AddConstraint(
            model_name='stockcount',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('status', 'cancelled'), _negated=True), models.Q(('cancelled_at__isnull', False), ('cancelled_by__isnull', False)), _connector='OR'), name='count_cancelled_by_somebody', violation_error_message='A cancelled count says who cancelled it and when.'),
        ),
    ]
