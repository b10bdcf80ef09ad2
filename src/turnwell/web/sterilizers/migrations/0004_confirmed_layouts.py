"""One confirmed layout a shape of file, and each record with the one it was read by."""

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


def keep_what_was_confirmed(apps, schema_editor):
    """Give each confirmed layout its row, and the records that came in since to it."""
    confirmed = apps.get_model("sterilizers", "ConfirmedLayout")
    records = apps.get_model("sterilizers", "CycleRecord")
    for row in apps.get_model("sterilizers", "Sterilizer").objects.exclude(layout=None):
        confirmed.objects.create(
            sterilizer=row,
            signature=row.layout.get("signature", ""),
            layout=row.layout,
            confirmed_at=row.layout_confirmed_at,
            confirmed_by_id=row.layout_confirmed_by_id,
        )
        # Since it was confirmed, files were read by it alone.
        records.objects.filter(sterilizer=row, entered_at__gte=row.layout_confirmed_at).update(
            layout=row.layout
        )


class Migration(migrations.Migration):
    dependencies = [
        ("sterilizers", "0003_feed_water_bound"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="ConfirmedLayout",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("signature", models.CharField(max_length=64)),
                ("layout", models.JSONField()),
                ("confirmed_at", models.DateTimeField(default=django.utils.timezone.now)),
                (
                    "confirmed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "sterilizer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="layouts",
                        to="sterilizers.sterilizer",
                    ),
                ),
            ],
            options={"ordering": ["-confirmed_at", "-pk"]},
        ),
        migrations.AddConstraint(
            model_name="confirmedlayout",
            constraint=models.UniqueConstraint(
                fields=("sterilizer", "signature"), name="one_layout_a_sterilizer_and_shape"
            ),
        ),
        migrations.AddField(
            model_name="cyclerecord",
            name="layout",
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.RunPython(keep_what_was_confirmed, migrations.RunPython.noop),
        migrations.RemoveConstraint(
            model_name="sterilizer", name="layout_confirmed_by_someone"
        ),
        migrations.RemoveField(model_name="sterilizer", name="layout"),
        migrations.RemoveField(model_name="sterilizer", name="layout_confirmed_at"),
        migrations.RemoveField(model_name="sterilizer", name="layout_confirmed_by"),
    ]
