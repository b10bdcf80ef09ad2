"""The form of feed-water values."""

from typing import Any

from django import forms

from turnwell.web.shared.forms import HouseForm, PastDateField
from turnwell.web.shared.quantities import NumberField
from turnwell.web.sterilizers.analysis.feed_water import water_rows

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

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for row in water_rows():
            self.fields[f"value_{row.key}"] = NumberField(
                label=f"{row.name}, {row.unit}" if row.unit else row.name,
                low=0.0,
                high=1_000_000.0,
                unit=row.unit,
                required=False,
                help_text=row.says,
            )

    def values(self) -> dict[str, float]:
        """Give the values that were typed."""
        return {
            name.removeprefix("value_"): float(value)
            for name, value in self.cleaned_data.items()
            if name.startswith("value_") and value is not None
        }
