"""The list of handpieces, narrowed by office, class and state."""

from dataclasses import dataclass
from typing import Any

from django import forms

from turnwell.web.accounts.models import User
from turnwell.web.handpieces.names import class_choices
from turnwell.web.handpieces.queries import HandpieceQuerySet
from turnwell.web.jobs.models import Job
from turnwell.web.offices.models import Office
from turnwell.web.shared.forms import HouseForm
from turnwell.web.shared.selects import LongSelect

__all__ = ["Chosen", "ListForm", "listed"]

STATES = (
    ("", "In use"),
    ("bench", "At the bench"),
    ("loan", "On loan"),
    ("retired", "Retired"),
)


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the list is narrowed to."""

    office: Office | None = None
    class_key: str = ""
    state: str = ""


class ListForm(HouseForm):
    """What the list is narrowed to; what makes no sense is left aside."""

    office = forms.ModelChoiceField(
        Office.objects.none(),
        label="Office",
        required=False,
        empty_label="All offices",
        widget=LongSelect,
    )
    class_key = forms.ChoiceField(label="Class", required=False)
    state = forms.ChoiceField(label="State", required=False, choices=STATES)

    def __init__(self, *args: Any, user: User, **options: Any) -> None:
        super().__init__(*args, **options)
        self.order_fields(["office", "class_key", "state"])
        kinds, offices = self.fields["class_key"], self.fields["office"]
        assert isinstance(kinds, forms.ChoiceField)  # noqa: S101  (declared so above)
        assert isinstance(offices, forms.ModelChoiceField)  # noqa: S101  (declared so above)
        kinds.choices = [("", "All classes"), *class_choices()]
        if user.is_shop:
            offices.queryset = Office.objects.order_by("name")
        else:
            del self.fields["office"]

    def chosen(self) -> Chosen:
        """Give what was chosen; everything where an address was typed wrong."""
        return Chosen(**self.cleaned_data) if self.is_valid() else Chosen()


def listed(rows: HandpieceQuerySet, chosen: Chosen) -> HandpieceQuerySet:
    """Give the handpieces of the list, an office's together."""
    if chosen.office is not None:
        rows = rows.filter(office=chosen.office)
    if chosen.class_key:
        rows = rows.filter(class_key=chosen.class_key)
    rows = rows.filter(retired_on__isnull=chosen.state != "retired")
    if chosen.state == "loan":
        rows = rows.filter(is_loan=True)
    if chosen.state == "bench":
        rows = rows.filter(pk__in=Job.objects.open().order_by().values("handpiece"))
    # By the number of the office, so that the index gives the order however long the list is.
    return rows.with_place().order_by("office_id", "class_key", "serial_folded", "pk")
