"""The platform's shapes in the API: what comes in and what goes out are different classes."""

from rest_framework import serializers

from studio.platform.choices import LANGUAGES, UNITS


class MeOut(serializers.Serializer):
    member = serializers.UUIDField(source="member_id")
    studio = serializers.UUIDField(source="studio_id")
    name = serializers.CharField()
    role = serializers.CharField()
    rights = serializers.ListField(child=serializers.CharField(), help_text="What this role includes.")


class StudioOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    address = serializers.CharField()
    time_zone = serializers.CharField(help_text="IANA name, for example Europe/Lisbon")
    unit = serializers.ChoiceField(choices=UNITS)
    language = serializers.ChoiceField(choices=LANGUAGES, help_text="Of what clients read.")
    colour = serializers.CharField(
        help_text="#rrggbb; reports, slips, sheets and clients' links are marked with it"
    )


class StudioIn(serializers.Serializer):
    name = serializers.CharField(max_length=120, required=False)
    address = serializers.CharField(max_length=500, required=False, allow_blank=True)
    time_zone = serializers.CharField(max_length=64, required=False, help_text="IANA name")
    unit = serializers.ChoiceField(choices=UNITS, required=False)
    language = serializers.ChoiceField(choices=LANGUAGES, required=False)
    colour = serializers.CharField(
        max_length=7, required=False, help_text="#rrggbb with a contrast of at least 4.5 to 1 on pale paper"
    )


class JobOut(serializers.Serializer):
    id = serializers.UUIDField()
    kind = serializers.CharField()
    state = serializers.CharField(help_text="waiting, working, done, failed or cancelled")
    progress = serializers.IntegerField(help_text="percent")
    progress_words = serializers.CharField()
    attempts = serializers.IntegerField()
    error = serializers.CharField(help_text="Why it failed, in a sentence.")
    result = serializers.DictField(help_text="Ids of what was made.")
    asked_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True)


class MemberOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    email = serializers.CharField(source="user.email")
    role = serializers.CharField()
    active = serializers.BooleanField()


class AuditOut(serializers.Serializer):
    id = serializers.UUIDField()
    at = serializers.DateTimeField()
    member = serializers.UUIDField(source="member_id", allow_null=True)
    request_id = serializers.CharField()
    act = serializers.CharField(help_text="The service's name.")
    noun = serializers.CharField()
    object_id = serializers.UUIDField()
    detail = serializers.DictField()


class NothingIn(serializers.Serializer):
    """No body is needed."""
