import pytest
from django import forms

from turnwell.web.shared.selects import LongSelect

CHOICES = [("", "Choose"), ("a<", 'A "quoted" & more'), (2, "Two")]


@pytest.mark.parametrize("value", [None, "", "a<", "2", 2, "gone"])
@pytest.mark.parametrize("is_required", [True, False])
def test_it_draws_what_the_plain_select_draws(value, is_required):
    def drawn(widget):
        form = forms.Form(initial={"one": value})
        field = forms.ChoiceField(choices=CHOICES, widget=widget, required=is_required)
        form.fields["one"] = field
        page = str(form["one"]).replace("\n", "").replace("  ", "")
        return sorted(page.replace(">", " ").replace("<", " ").split())

    assert drawn(LongSelect) == drawn(forms.Select)
