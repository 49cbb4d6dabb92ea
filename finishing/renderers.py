"""How forms are drawn: the house templates for a form, a field and a set of rows."""

from __future__ import annotations

from django.forms.renderers import TemplatesSetting


class HouseRenderer(TemplatesSetting):
    """Renders forms with the project's own templates; widgets stay Django's."""

    form_template_name = "django/forms/form.html"
    field_template_name = "django/forms/field.html"
    formset_template_name = "django/forms/formset.html"
