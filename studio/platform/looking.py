"""Whoever opens something about a client is written down, whatever page or answer it was.

The address tells whom it is about: a wing says in ``registries.SUBJECTS`` what a part of it names. So a new route is
covered as soon as it names its parts as the others do. Lists and searches, which show many names and no body, are not
counted.
"""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from studio.platform.registries import LOOK_KEEPERS, SUBJECTS
from studio.platform.rights import Actor


def note_look(actor: Actor, method: str | None, status: int, address: Mapping[str, Any]) -> None:
    """After an answer: write down whom it showed. In scope; only what was read, for what is done has its own entry."""
    if method != "GET" or status != 200:
        return
    for name, subject in SUBJECTS.items():
        named = address.get(name)
        if isinstance(named, UUID):
            clients = sorted(set(subject.clients_of(named)))
            if clients:
                for keep in LOOK_KEEPERS:
                    keep(actor, clients, name)
                return
