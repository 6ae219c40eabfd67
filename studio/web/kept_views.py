"""What is kept about a client: her consents, who looked, copies for her."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from studio.platform.rights import Right
from studio.platform.web.base import HousePage
from studio.platform.web.files import file_answer
from studio.queries import client_copy, clients, looking
from studio.services import client_copy as copies


class KeptPage(HousePage):
    right = Right.EXPORT_AND_ERASE


class Kept(KeptPage):
    def get(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        return self.page(
            "studio/kept.html",
            client=clients.client_get(self.actor, client_id),
            answers=clients.consent_list(self.actor, client_id),
            looks=looking.looks_of(self.actor, client_id),
            copies=client_copy.copies_of(self.actor, client_id),
            days=client_copy.KEPT_DAYS,
        )


class AskCopy(KeptPage):
    def post(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        job = copies.ask_copy(self.actor, client_id)
        return self.done("The copy is being made.", "platform:job", job.pk)


class Copy(KeptPage):
    def get(self, request: HttpRequest, client_id: UUID, file_id: UUID) -> Any:
        file = client_copy.copy_get(self.actor, client_id, file_id)
        copies.tell_copy_fetched(self.actor, file)
        return file_answer(file)
