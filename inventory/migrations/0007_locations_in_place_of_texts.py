import django.db.models.deletion
from django.db import migrations, models

CATEGORIES = [(0, "Not a flammable liquid"), (1, "Category 1"), (2, "Category 2"), (3, "Category 3"), (4, "Category 4")]
OPENS = {
    "default": False,
    "help_text": "The open life then counts from the first issue of a lot that came in one container.",
    "verbose_name": "the first issue opens the container",
}
# Where each text stood, and the key that takes its place.
HELD = (("Material", "usual_location"), ("HistoricalMaterial", "usual_location"), ("Lot", "location"))


def make_locations(apps, schema_editor):
    """A shelf for each distinct text, under its very words; a place of that name that is there already is taken.

    Texts that differ in capitals or in blanks at their ends mean one place: the form of places knows no two of such names.
    """
    Location = apps.get_model("inventory", "Location")
    known = {name.casefold(): pk for name, pk in Location.objects.values_list("name", "pk")}
    for name, key in HELD:
        model = apps.get_model("inventory", name)
        for text in model.objects.exclude(place="").order_by("place").values_list("place", flat=True).distinct():
            place = text.strip()
            if not place:
                continue
            if place.casefold() not in known:
                known[place.casefold()] = Location.objects.create(name=place).pk
            model.objects.filter(place=text, **{f"{key}__isnull": True}).update(**{f"{key}_id": known[place.casefold()]})
    _settle(schema_editor)


def write_texts(apps, schema_editor):
    """The names of the places as texts again; the places themselves stay."""
    names = dict(apps.get_model("inventory", "Location").objects.values_list("pk", "name"))
    for name, key in HELD:
        model = apps.get_model("inventory", name)
        for place, text in names.items():
            model.objects.filter(**{f"{key}_id": place}).update(place=text)
    _settle(schema_editor)


def _settle(schema_editor):
    # PostgreSQL changes no table whose foreign keys wait to be checked.
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        schema_editor.execute("SET CONSTRAINTS ALL DEFERRED")


class Migration(migrations.Migration):
    """Places become rows of their own: the free texts of lots and materials turn into locations."""

    dependencies = [("inventory", "0006_order_people_and_packs_of_lots")]

    operations = [
        migrations.RunPython(make_locations, write_texts),
        migrations.RemoveField(model_name="historicalmaterial", name="place"),
        migrations.RemoveField(model_name="lot", name="place"),
        migrations.RemoveField(model_name="material", name="place"),
        migrations.AddField(model_name="historicalmaterial", name="opens_on_issue", field=models.BooleanField(**OPENS)),
        migrations.AddField(model_name="material", name="opens_on_issue", field=models.BooleanField(**OPENS)),
        migrations.AddField(
            model_name="lotevent",
            name="from_location",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="departures",
                to="inventory.location",
            ),
        ),
        migrations.AddField(
            model_name="lotevent",
            name="to_location",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="arrivals",
                to="inventory.location",
            ),
        ),
        migrations.AddField(
            model_name="lotevent",
            name="posting",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="lot_events",
                to="inventory.posting",
            ),
        ),
        migrations.AlterField(
            model_name="lotevent",
            name="kind",
            field=models.CharField(
                choices=[
                    ("opened", "Opened"),
                    ("set_aside", "Set aside"),
                    ("released", "Freed"),
                    ("moved", "Moved"),
                    ("closed", "Not opened after all"),
                ],
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="historicalmaterial",
            name="flammable_category",
            field=models.PositiveSmallIntegerField(
                blank=True, choices=CATEGORIES, help_text="As the safety data sheet says.", null=True
            ),
        ),
        migrations.AlterField(
            model_name="material",
            name="flammable_category",
            field=models.PositiveSmallIntegerField(
                blank=True, choices=CATEGORIES, help_text="As the safety data sheet says.", null=True
            ),
        ),
        migrations.AlterField(
            model_name="historicalmaterial",
            name="usual_location",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                help_text="Where a delivery of it is put.",
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="inventory.location",
                verbose_name="usual place",
            ),
        ),
        migrations.AlterField(
            model_name="material",
            name="usual_location",
            field=models.ForeignKey(
                blank=True,
                help_text="Where a delivery of it is put.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="materials",
                to="inventory.location",
                verbose_name="usual place",
            ),
        ),
    ]
