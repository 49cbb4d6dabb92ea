"""The form of an uploaded list."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings

from finishing.forms import KeyedForm
from finishing.models import User
from finishing.uploads import FileRefusedError
from inventory.bringing_in.lists import BroughtList
from inventory.bringing_in.plan import Given
from inventory.choices import ListKind
from inventory.forms.moves import DayField, today
from inventory.models import Supplier
from inventory.services.bringing_in import Upload


class UploadListForm(KeyedForm):
    """A list in a file; whose prices they are and from when on, or of which day the stock is, where that matters."""

    supplier = forms.ModelChoiceField(
        queryset=Supplier.objects.filter(is_active=True),
        empty_label="Choose",
        error_messages={"required": "Choose whose prices these are."},
    )
    on = DayField()
    file = forms.FileField(
        label="The file",
        allow_empty_file=True,  # told in our own words
        widget=forms.FileInput(attrs={"accept": ".xlsx,.csv,.txt,.tsv"}),
    )

    def __init__(self, *args: Any, brought: BroughtList, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.brought = brought
        self.fields["file"].error_messages["required"] = f"Choose the file that holds the {brought.what}."
        self.fields["file"].help_text = "XLSX, or CSV with commas, semicolons or tabs."
        if brought.kind != ListKind.PRICES:
            del self.fields["supplier"]
        if brought.kind == ListKind.PRICES:
            self.fields["on"].label, self.fields["on"].help_text = "Valid from", "The day from which these prices hold."
        elif brought.kind == ListKind.STOCK:
            self.fields["on"].label, self.fields["on"].help_text = "Stock of", "The day on which this was on the shelves."
        else:
            del self.fields["on"]

    def upload(self, by: User) -> Upload:
        """The file as it came, for the service. Valid forms only."""
        data = self.cleaned_data
        limit: int = settings.UPLOAD_LIMIT
        given = Given(
            by=by,
            on=data.get("on") or today(),
            file_name=data["file"].name[:120],
            key=data["key"],
            supplier=data.get("supplier"),
        )
        # One byte past the limit is enough to be refused.
        return Upload(kind=self.brought.kind, content=data["file"].read(limit + 1), most_bytes=limit, given=given)

    def refuse(self, error: FileRefusedError) -> None:
        """Put a refusal at the file."""
        self.add_error("file", str(error))
