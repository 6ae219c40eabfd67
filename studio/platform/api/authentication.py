"""Who asks the API: the house's own finding of the actor, with CSRF protection where a cookie is the key."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import SessionAuthentication
from rest_framework.request import Request

from studio.platform.actors import BadToken, actor_of, by_token
from studio.platform.rights import Actor


class ApiUser:
    """What DRF and its throttles see of an actor."""

    is_authenticated = True
    is_active = True

    def __init__(self, actor: Actor) -> None:
        self.actor = actor
        self.pk = self.id = actor.member_id


class HouseAuthentication(SessionAuthentication):
    """Bearer token or the session's cookie; an actor is a member of exactly one studio."""

    def authenticate(self, request: Request) -> Any:
        found = actor_of(request._request)
        if found is None:
            return None
        if not by_token(request._request):
            self.enforce_csrf(request)
        return ApiUser(found), found

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"


class HouseAuthenticationScheme(OpenApiAuthenticationExtension):
    target_class = HouseAuthentication
    name = ["token", "session"]

    def get_security_definition(self, auto_schema: Any) -> list[dict[str, Any]]:
        return [
            {"type": "http", "scheme": "bearer"},
            {"type": "apiKey", "in": "cookie", "name": "sessionid"},
        ]


__all__ = ["ApiUser", "BadToken", "HouseAuthentication"]
