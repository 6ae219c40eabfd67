"""Forms of the platform's pages: they turn text into typed values and hold no rules."""

from zoneinfo import available_timezones

from django import forms

from studio.platform.choices import LANGUAGES, UNITS
from studio.platform.models import Member


def time_zones() -> list[tuple[str, str]]:
    """Every time zone that is named after a place."""
    return [
        (name, name.replace("_", " "))
        for name in sorted(available_timezones())
        if "/" in name or name == "UTC"
    ]


class SignInForm(forms.Form):
    email = forms.EmailField(widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True}))
    password = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}), strip=False, max_length=256
    )


CODE = {"autocomplete": "one-time-code", "inputmode": "numeric", "maxlength": "20", "autofocus": True}


def new_password_field(label: str = "New password") -> forms.CharField:
    return forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        strip=False,
        max_length=256,
        label=label,
        help_text="At least 12 characters; a short sentence is good.",
    )


class SecondStepForm(forms.Form):
    code = forms.CharField(
        max_length=20, label="Code", widget=forms.TextInput(attrs={**CODE, "inputmode": "text"})
    )


class CodeForm(forms.Form):
    code = forms.CharField(max_length=20, label="Code that the app shows", widget=forms.TextInput(attrs=CODE))


class PasskeyForm(forms.Form):
    name = forms.CharField(
        max_length=60,
        label="Name of the device",
        help_text="By which you will know it, such as “my telephone”.",
    )
    passkey = forms.CharField(max_length=20_000, required=False, widget=forms.HiddenInput)


class ForgottenForm(forms.Form):
    email = forms.EmailField(widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True}))


class NewPasswordForm(forms.Form):
    new = new_password_field()


class ChangePasswordForm(forms.Form):
    old = forms.CharField(
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        strip=False,
        max_length=256,
        label="Password until now",
    )
    new = new_password_field()


class AccountForm(forms.Form):
    name = forms.CharField(
        max_length=120, label="Your name", widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    email = forms.EmailField(widget=forms.EmailInput(attrs={"autocomplete": "username"}))
    password = new_password_field("Password")


class SetupForm(AccountForm):
    studio_name = forms.CharField(
        max_length=120, label="Name of the studio", help_text="It stands on every report."
    )
    time_zone = forms.CharField(initial="Europe/London", help_text="For example Europe/Lisbon.")
    unit = forms.ChoiceField(choices=UNITS, initial="cm", label="Lengths in")
    language = forms.ChoiceField(choices=LANGUAGES, initial="en", label="Clients are written to in")
    field_order = ["studio_name", "name", "email", "password", "time_zone", "unit", "language"]


class JoinForm(AccountForm):
    """Joining by an invitation: the address was given by whoever invited."""


class InviteForm(forms.Form):
    name = forms.CharField(max_length=120)
    email = forms.EmailField()
    role = forms.ChoiceField(choices=Member.Role.choices, initial="instructor")


class MemberForm(forms.Form):
    role = forms.ChoiceField(choices=Member.Role.choices)
    active = forms.BooleanField(required=False, label="Works here")


class StudioForm(forms.Form):
    name = forms.CharField(max_length=120, help_text="It stands on every report.")
    address = forms.CharField(
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Where clients find you; at the end of reports and on slips.",
    )
    time_zone = forms.ChoiceField(choices=time_zones)
    unit = forms.ChoiceField(
        choices=UNITS,
        label="Lengths in",
        help_text="For new clients and patterns; each may choose otherwise.",
    )
    language = forms.ChoiceField(
        choices=LANGUAGES,
        required=False,
        label="Clients are written to in",
        help_text="Reports and letters; each client may choose otherwise.",
    )
    colour = forms.CharField(
        max_length=7,
        widget=forms.TextInput(attrs={"type": "color"}),
        help_text="Dark enough for small words on pale paper.",
    )
    version = forms.IntegerField(widget=forms.HiddenInput)


class TokenForm(forms.Form):
    name = forms.CharField(max_length=80, label="Which program is it for?")
    days = forms.IntegerField(required=False, min_value=1, max_value=3650, label="Days until it ends")
