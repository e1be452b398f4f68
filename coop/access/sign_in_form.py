"""The admin's form of signing in asks for the second factor as well."""

from typing import Any

from django import forms
from django.contrib.admin.forms import AdminAuthenticationForm
from django.utils import timezone

from coop.access import second_factor
from coop.access.models import User


class SecondFactorForm(AdminAuthenticationForm):
    code = forms.CharField(
        required=False,
        max_length=40,
        label="Code",
        help_text="Where your account asks for one",
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code"}),
    )

    def confirm_login_allowed(self, user: Any) -> None:
        super().confirm_login_allowed(user)
        if not isinstance(user, User) or not second_factor.is_asked_of(user):
            return
        code = self.cleaned_data.get("code", "")
        if not second_factor.take_code(user=user, code=code, now=timezone.now()):
            raise forms.ValidationError("Give the code of your second factor.", code="wrong_code")
