"""The form of feed-water values."""

from typing import Any

from django import forms

from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.shared.quantities import NumberField
from turnwell.web.sterilizers.analysis.feed_water import USUAL_BOUND_PERCENT, water_limits

__all__ = ["FeedWaterForm"]


class FeedWaterForm(HouseForm):
    """Values of the feed water, one field a row of the catalogue."""

    sampled_on = PastDateField(label="Day of the sample")
    how = forms.CharField(
        label="How it was measured",
        max_length=200,
        required=False,
        help_text="Strip, hand meter, laboratory.",
    )
    bound_percent = NumberField(
        label="Good to within ± %",
        low=0.1,
        high=100.0,
        unit="%",
        initial=USUAL_BOUND_PERCENT,
        help_text="Of each value; pH is taken to ± 0.2. Ten is common practice for a hand meter.",
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for key, row in water_limits().items():
            self.fields[f"value_{key}"] = NumberField(
                label=f"{row.name}, {row.unit}" if row.unit else row.name,
                low=0.0,
                high=1_000_000.0,
                unit=row.unit,
                required=False,
                help_text=row.note,
            )

    def values(self) -> dict[str, float]:
        """Give the values that were typed."""
        return {
            name.removeprefix("value_"): float(value)
            for name, value in self.cleaned_data.items()
            if name.startswith("value_") and value is not None
        }
