"""The API's base view: studio scope around everything including rendering, replayed answers, ETags.

A view names its ``rights`` by method and does nothing but translate: serializer in, service, serializer out.
"""

import hashlib
import json
from typing import Any

from django.conf import settings
from django.db import connection, transaction
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone
from rest_framework.generics import GenericAPIView
from rest_framework.response import Response

from studio.platform.actors import BadToken, actor_of
from studio.platform.api.limits import seconds_to_wait
from studio.platform.api.problems import MEDIA_TYPE, PreconditionRequired, problem
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Refused, Stale
from studio.platform.looking import note_look
from studio.platform.models import StoredAnswer, User
from studio.platform.models.base import Versioned, new_id
from studio.platform.requests import current_request_id
from studio.platform.rights import Actor, Right

KEPT_HEADERS = ("Location", "ETag")


class HouseView(GenericAPIView):
    """Base of every API view. Subclasses set ``rights = {"GET": Right..., "POST": Right...}``."""

    rights: dict[str, Right] = {}
    # For the schema's sake alone, which asks every view for a queryset; rows come from queries.
    queryset = User.objects.none()

    @property
    def actor(self) -> Actor:
        found: Any = self.request.auth  # set by HouseAuthentication
        return found

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if settings.HTTPS and not request.is_secure():
            return self._problem(
                request, 403, "https-only", "Use https: what was sent came in the open, a token with it."
            )
        try:
            actor = actor_of(request)
        except BadToken:
            return self._bad_token(request)
        wait = seconds_to_wait(request, actor)  # before the scope opens: refused or not, it counts
        if wait:
            return self._too_many(request, wait, "Too many requests in a minute; wait a little.")
        if actor is None:
            return super().dispatch(request, *args, **kwargs)
        with studio_scope(actor.studio_id), timezone.override(actor.zone):
            response = self._answer(request, actor, *args, **kwargs)
            if hasattr(response, "render"):
                response.render()
            note_look(actor, request.method, response.status_code, kwargs)
            # DRF turns errors into responses: the transaction must be told that they are errors.
            if response.status_code >= 400:
                transaction.set_rollback(True)
        return response

    def _answer(self, request: HttpRequest, actor: Actor, *args: Any, **kwargs: Any) -> Any:
        key = request.headers.get("Idempotency-Key", "")
        if request.method != "POST" or not key:
            return super().dispatch(request, *args, **kwargs)
        body = request.body
        fingerprint = hashlib.sha256(f"{request.path}\n".encode() + body).hexdigest()
        if len(key) > 128:
            return self._problem(request, 400, "refused", "Idempotency-Key is longer than 128 characters.")
        if not self._take_key(actor, key, fingerprint):
            return self._replay(request, actor, key, fingerprint)
        response = super().dispatch(request, *args, **kwargs)
        if response.status_code < 400:
            self._keep(actor, key, response)
        return response

    def _take_key(self, actor: Actor, key: str, fingerprint: str) -> bool:
        """Insert the key; a request with the same key in flight makes this one wait until that one has ended."""
        with connection.cursor() as cursor:
            cursor.execute(
                "insert into platform_storedanswer (id, studio_id, member_id, key, fingerprint, headers, at) "
                "values (%s, %s, %s, %s, %s, '{}', now()) on conflict (studio_id, member_id, key) do nothing",
                [new_id(), actor.studio_id, actor.member_id, key, fingerprint],
            )
            return cursor.rowcount == 1

    def _keep(self, actor: Actor, key: str, response: Any) -> None:
        response.render()
        StoredAnswer.objects.filter(member_id=actor.member_id, key=key).update(
            status=response.status_code,
            body=json.loads(response.content) if response.content else None,
            headers={name: response[name] for name in KEPT_HEADERS if name in response},
        )

    def _replay(self, request: HttpRequest, actor: Actor, key: str, fingerprint: str) -> Any:
        stored = StoredAnswer.objects.get(member_id=actor.member_id, key=key)
        if stored.fingerprint != fingerprint:
            return self._problem(
                request,
                422,
                "key-reused",
                "This Idempotency-Key came with a different request before; use a new one.",
            )
        # Through DRF's own dispatch, so that sign-in and rights hold for the replay as well.
        self.post = lambda *_, **__: Response(
            stored.body,
            status=stored.status or 200,
            headers={**stored.headers, "Idempotency-Replayed": "true"},
        )
        return super().dispatch(request)

    def _problem(self, request: HttpRequest, code: int, kind: str, detail: str) -> Any:
        from django.http import JsonResponse

        return JsonResponse(
            problem(code, kind, "Something given can't be used", detail), status=code, content_type=MEDIA_TYPE
        )

    def _too_many(self, request: HttpRequest, wait: int, words: str) -> Any:
        answer = self._problem(request, 429, "throttled", words)
        answer["Retry-After"] = str(wait)
        return answer

    def _bad_token(self, request: HttpRequest) -> Any:
        wait = seconds_to_wait(request, None)
        if wait:
            return self._too_many(request, wait, "Too many requests with tokens that open nothing.")
        response = self._problem(
            request, 401, "bad-token", "This token opens nothing: it is unknown, ended or revoked."
        )
        response["WWW-Authenticate"] = "Bearer"
        response["X-Request-Id"] = current_request_id()
        return response

    # --- helpers for subclasses ---------------------------------------------------------------------------------

    def typed(self, serializer_class: type | None = None) -> dict[str, Any]:
        """The request's body as typed values; raises DRF's ValidationError, which becomes a problem."""
        kind = serializer_class or self.get_serializer_class()
        serializer = kind(data=self.request.data, context=self.get_serializer_context())
        serializer.is_valid(raise_exception=True)
        values: dict[str, Any] = serializer.validated_data
        return values

    def page_of(self, rows: Any, serializer_class: type) -> Response:
        """One cursor page of a queryset (or list of dataclasses ordered by -id)."""
        page = self.paginate_queryset(self.filter_queryset(rows))
        return self.get_paginated_response(
            serializer_class(page, many=True, context=self.get_serializer_context()).data
        )

    def created(self, data: Any, location: str, row: Versioned | None = None) -> Response:
        headers = {"Location": location}
        if row is not None:
            headers["ETag"] = etag(row)
        return Response(data, status=201, headers=headers)

    def expected_version(self) -> int:
        """The version in If-Match; raises PreconditionRequired, or Refused where it is not an ETag of ours."""
        raw = self.request.headers.get("If-Match", "").strip()
        if not raw:
            raise PreconditionRequired
        try:
            return int(raw.removeprefix("W/").strip('"'))
        except ValueError:
            if raw == "*":
                raise Refused({"If-Match": "Send the ETag that you read, not *."}) from None
            raise Stale from None


def etag(row: Versioned) -> str:
    return f'"{row.version}"'
