"""The question whether a delivery note that was booked before is another delivery."""

from __future__ import annotations

from django import forms

from finishing.forms import KeyedForm
from inventory.models import Posting
from inventory.services.deliveries import BookedBeforeError


class AskedForm(KeyedForm):
    """A form that books a delivery. The tick belongs to the posting that was shown: another one is asked about anew."""

    book_again = forms.BooleanField(
        required=False,
        label="Book it all the same: it is another delivery",
        help_text="For example one note with the goods of two orders, or the rest of it counted later.",
    )
    asked_about = forms.IntegerField(required=False, widget=forms.HiddenInput)

    earlier: Posting | None = None  # the delivery that the question is about
    question: str = ""

    @property
    def knowing(self) -> int | None:
        """The posting that the person was shown and calls another delivery; only after ``is_valid``."""
        number: int | None = self.cleaned_data["asked_about"]
        return number if self.cleaned_data["book_again"] else None

    @property
    def asks(self) -> bool:
        """Whether the tick is shown: for a question of now, or one that was answered while something else was wrong."""
        return self.earlier is not None or bool(self["book_again"].value())

    def ask(self, error: BookedBeforeError) -> None:
        """Show the question, with what was typed still there and the tick empty."""
        self.earlier = error.earlier
        self.data = {**{name: self.data[name] for name in self.data}, "asked_about": str(error.earlier.pk)}
        self.data.pop("book_again", None)
        self.question = str(error)
        self.add_error("reference", "This note is in the books already. Answer the question below.")
