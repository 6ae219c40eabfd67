"""How many requests a minute the API answers: per member, and per address for whoever shows no key that fits."""

from django.conf import settings
from django.http import HttpRequest

from studio.platform.rights import Actor
from studio.platform.services.limits import Limit
from studio.platform.services.sign_in import address_of

MINUTE = 60


def seconds_to_wait(request: HttpRequest, actor: Actor | None) -> int:
    """Count this request; 0 where it may be answered."""
    if actor is None:
        return Limit("anonymous", settings.THROTTLE_ANONYMOUS, MINUTE).count(address_of(request))
    return Limit("member", settings.THROTTLE_SIGNED_IN, MINUTE).count(str(actor.member_id))
