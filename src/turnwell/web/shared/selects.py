"""A choice among many: drawn in one go, where Django's own draws a template an option."""

from typing import Any

from django import forms
from django.forms.renderers import BaseRenderer
from django.forms.utils import flatatt
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

__all__ = ["LongSelect"]


class LongSelect(forms.Select):
    """A select without groups, for lists of hundreds: offices, models, time zones."""

    def render(
        self,
        name: str,
        value: Any,
        attrs: dict[str, Any] | None = None,
        renderer: BaseRenderer | None = None,  # noqa: ARG002  (drawn without one)
    ) -> SafeString:
        """Draw the select with its options."""
        chosen = {str(one) for one in self.format_value(value)}
        given = self.build_attrs(self.attrs, {"name": name} | (attrs or {}))
        options = format_html_join(
            "\n",
            '<option value="{}"{}>{}</option>',
            (
                ("" if key is None else key, flatatt({"selected": str(key or "") in chosen}), label)
                for key, label in self.choices
            ),
        )
        return format_html("<select{}>\n{}\n</select>", flatatt(given), options)
