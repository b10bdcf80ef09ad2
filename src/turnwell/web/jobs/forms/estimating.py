"""Forms of an estimate: one option, and the office's answer."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.safestring import SafeString

from turnwell.errors import InputError
from turnwell.web.jobs.forms.base import JobForm
from turnwell.web.jobs.models import EstimateAnswer, EstimateOption, Job, OptionKind
from turnwell.web.jobs.money import HIGHEST_PRICE
from turnwell.web.shared.numbers import read_number
from turnwell.web.shared.quantities import NumberField
from turnwell.web.shop.queries import the_shop

__all__ = ["AnswerForm", "OptionForm", "PriceField"]

DECLINED = "declined"


class PriceField(forms.CharField):
    """An amount of money, typed with a decimal point or comma; gives a Decimal."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=40, **options)
        self.widget.attrs.setdefault("inputmode", "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")

    def clean(self, value: Any) -> Any:
        """Give the amount; nothing typed in a field that may stay empty is 0."""
        text = super().clean(value)
        if not text:
            return Decimal(0)
        try:
            amount = Decimal(repr(read_number(text, is_grouped=True)))
        except (InputError, InvalidOperation) as error:
            raise forms.ValidationError(str(error)) from error
        if not 0 <= amount <= HIGHEST_PRICE:
            raise forms.ValidationError(f"{text} is out of range; from 0 to {HIGHEST_PRICE:,}")
        return amount


class OptionForm(JobForm):
    """One way to go on, with its price before tax."""

    kind = forms.ChoiceField(label="What is done", choices=OptionKind, widget=forms.RadioSelect)
    words = forms.CharField(
        label="In words for the office",
        max_length=300,
        required=False,
        help_text="Such as: new cartridge, rings and gasket.",
    )
    parts_price = PriceField(label="Parts, before tax", required=False)
    labour_price = PriceField(label="Work, before tax", required=False)
    warranty_months = NumberField(
        label="Warranty in months", low=0, high=120, is_whole=True, required=False
    )

    def __init__(
        self, *args: Any, job: Job, old: EstimateOption | None = None, **options: Any
    ) -> None:
        if old is not None:
            options["initial"] = {
                "kind": old.kind,
                "words": old.words,
                "parts_price": old.parts_price,
                "labour_price": old.labour_price,
                "warranty_months": old.warranty_months,
            } | (options.get("initial") or {})
        super().__init__(*args, job=job, **options)

    def arguments(self) -> dict[str, Any]:
        """Give no warranty where none was typed."""
        return super().arguments() | {"warranty_months": self.cleaned_data["warranty_months"] or 0}


def _said(option: EstimateOption, tax_name: str) -> SafeString:
    """Give what agreeing to an option means: words, how the price is made up, warranty."""
    words = [option.words.rstrip(".")] if option.words else []
    split = (
        f"Parts {option.parts_price:,.2f}, work {option.labour_price:,.2f},"
        f" {tax_name} {option.tax_amount:,.2f} {option.currency}"
    )
    months = option.warranty_months
    warranty = f"Warranty {months} month{'s' if months != 1 else ''}" if months else "No warranty"
    return format_html(
        '<span>Yes: {}, {} {}<br><span class="note">{}.</span></span>',
        option.get_kind_display(),
        f"{option.total:,.2f}",
        option.currency,
        ". ".join([*words, split, warranty]),
    )


class AnswerForm(JobForm):
    """Yes to one option, or no to all; who said so."""

    answer = forms.ChoiceField(label="The office says", widget=forms.RadioSelect)
    answered_by = forms.CharField(label="Who said so", max_length=120)
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, *args: Any, job: Job, **options: Any) -> None:
        super().__init__(*args, job=job, **options)
        tax_name = the_shop().tax_name
        self.options = {str(option.pk): option for option in job.options.standing()}
        self.fields["answer"].choices = [  # type: ignore[attr-defined]  # of ChoiceField
            *((key, _said(option, tax_name)) for key, option in self.options.items()),
            (DECLINED, "No, to all of them"),
        ]

    def arguments(self) -> dict[str, Any]:
        """Give the answer, and the option it names."""
        said = self.cleaned_data["answer"]
        return {
            "answer": EstimateAnswer.Answer.DECLINED
            if said == DECLINED
            else EstimateAnswer.Answer.AGREED,
            "option": self.options.get(said),
            "answered_by": self.cleaned_data["answered_by"],
            "note": self.cleaned_data["note"],
        }
