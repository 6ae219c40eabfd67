"""Keeping what clients are found by: their names and telephone numbers, words of their garments."""

import re
from uuid import UUID

from django.db import connection

from studio.platform.database.scope import current_studio_id
from studio.platform.models.base import new_id

DIGITS_KEPT = 60  # the column's width


def index_words(*, client_id: UUID, source: str, source_id: UUID, words: str, telephone: str = "") -> None:
    """Say that ``client_id`` is found by ``words`` (shown as given) and ``telephone``; says it anew if said
    before.

    One row per (source, source_id), in the studio in scope. The client's name is searched along with the
    words, so that "olia teal" finds the teal trousers of Olia; accents and capitals are folded by the
    database, which folds what is searched in the same way.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            """
            insert into studio_clientsearch
                (id, studio_id, client_id, source, source_id, words, folded, digits, at)
            select %(id)s, %(studio)s, %(client)s, %(source)s, %(source_id)s, %(words)s,
                   fold_words(%(words)s || case when %(source)s = 'client' then '' else ' ' || coalesce(
                       (select name from studio_client where id = %(client)s), '') end),
                   %(digits)s, now()
            on conflict (studio_id, source, source_id) do update
            set client_id = excluded.client_id, words = excluded.words, folded = excluded.folded,
                digits = excluded.digits, at = excluded.at
            """,
            {
                "id": new_id(),
                "studio": current_studio_id(),
                "client": client_id,
                "source": source,
                "source_id": source_id,
                "words": words,
                "digits": digits_of(telephone),
            },
        )


def rename_in_search(client_id: UUID, name: str) -> None:
    """Fold a client's new name into the words of everything else that she is found by."""
    with connection.cursor() as cursor:
        cursor.execute(
            "update studio_clientsearch set folded = fold_words(words || ' ' || %s) "
            "where client_id = %s and source <> 'client'",
            [name, client_id],
        )


def digits_of(*telephones: str) -> str:
    """The figures of telephone numbers, one number after another: "0555 01-42" -> "05550142"."""
    numbers = (
        re.sub(r"\D", "", telephone) for text in telephones for telephone in re.split(r"[,;\n]| / ", text)
    )
    return " ".join(number for number in numbers if number)[:DIGITS_KEPT]
