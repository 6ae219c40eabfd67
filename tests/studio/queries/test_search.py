"""Finding clients through the door: what is forgiven, what never crosses studios, which index is used."""

import time

import psycopg
import pytest
from django.conf import settings
from django.db import DatabaseError, connection, transaction

from studio.models import ClientSearch
from studio.platform.models.base import new_id
from studio.queries.clients import client_list, find_clients, mark_found
from studio.services import clients
from studio.services.search import digits_of, index_words
from tests.studio.helpers import a_client


@pytest.fixture
def people(in_house):
    """A few invented clients with garments."""
    found = {}
    for name, telephone in (
        ("Olîa Duarte", "0555 01 42 77"),
        ("Inga Holm", "+44 20 5550 1199"),
        ("Zoë Ağaoğlu", ""),
        ("Siobhán O’Leary", ""),
        ("Marianne Łukasz-Berg", ""),
        ("Жанна Орлова", ""),
    ):
        found[name] = a_client(in_house.clerk, name, telephone=telephone)
    for name, words in (
        ("Olîa Duarte", "teal trousers"),
        ("Olîa Duarte", "grey wool skirt"),
        ("Inga Holm", "black trousers"),
    ):
        index_words(client_id=found[name].pk, source="garment", source_id=new_id(), words=words)
    return found


@pytest.mark.parametrize(
    ("words", "name", "shown"),
    [
        ("olia", "Olîa Duarte", "Olîa Duarte"),
        ("OLI\u0302A", "Olîa Duarte", "Olîa Duarte"),  # the accent as a letter of its own
        ("olai", "Olîa Duarte", "Olîa Duarte"),
        ("oila", "Olîa Duarte", "Olîa Duarte"),  # shares one trigram of five with the name
        ("oila teal", "Olîa Duarte", "teal trousers"),
        ("igna holm", "Inga Holm", "Inga Holm"),
        ("igna", "Inga Holm", "Inga Holm"),
        ("olai teai", "Olîa Duarte", "teal trousers"),
        ("teal olia", "Olîa Duarte", "teal trousers"),
        ("olia skrit", "Olîa Duarte", "grey wool skirt"),
        ("teal", "Olîa Duarte", "teal trousers"),
        ("dua", "Olîa Duarte", "Olîa Duarte"),
        ("ol du", "Olîa Duarte", "Olîa Duarte"),
        ("duarte, olia", "Olîa Duarte", "Olîa Duarte"),
        ("zoe", "Zoë Ağaoğlu", "Zoë Ağaoğlu"),
        ("agaoglu", "Zoë Ağaoğlu", "Zoë Ağaoğlu"),
        ("oleary", "Siobhán O’Leary", "Siobhán O’Leary"),
        ("o'leary", "Siobhán O’Leary", "Siobhán O’Leary"),
        ("siobahn", "Siobhán O’Leary", "Siobhán O’Leary"),
        ("lukasz", "Marianne Łukasz-Berg", "Marianne Łukasz-Berg"),
        ("mariane berg", "Marianne Łukasz-Berg", "Marianne Łukasz-Berg"),
        ("жанна", "Жанна Орлова", "Жанна Орлова"),
        ("0142", "Olîa Duarte", "Olîa Duarte"),
        ("0555-014", "Olîa Duarte", "Olîa Duarte"),
        ("4277", "Olîa Duarte", "Olîa Duarte"),
        ("020 5550", "Inga Holm", "Inga Holm"),  # dialled inside the country, kept with the country's number
        ("inga 1199", "Inga Holm", "Inga Holm"),
    ],
)
def test_the_one_who_is_meant_comes_first(in_house, people, words, name, shown):
    found = find_clients(in_house.clerk, words)
    assert (found[0].name, found[0].words) == (name, shown)
    assert found[0].client_id == people[name].pk
    assert 0 < found[0].score <= 1


def test_a_name_brings_its_client_once_and_garments_only_where_they_say_more(in_house, people):
    assert [(each.name, each.source) for each in find_clients(in_house.clerk, "olia duarte")] == [
        ("Olîa Duarte", "client")
    ]
    assert {each.words for each in find_clients(in_house.clerk, "trousers")} == {
        "teal trousers",
        "black trousers",
    }


@pytest.mark.parametrize("words", ["xyzq", "", "   ", "%", "_", "'", "777777", "\\", "\x01"])
def test_what_means_nobody_finds_nobody(in_house, people, words):
    assert find_clients(in_house.clerk, words) == []


def test_endless_words_are_cut_and_many_are_no_harm(in_house, people):
    assert find_clients(in_house.clerk, "olia " * 2000)[0].name == "Olîa Duarte"


def test_a_new_name_is_found_in_all_places_and_the_old_one_in_none(in_house, people):
    clients.change_client(
        in_house.clerk, people["Olîa Duarte"].pk, expected_version=None, name="Benedikta Moss"
    )
    assert find_clients(in_house.clerk, "benedikta teal")[0].words == "teal trousers"
    assert "duarte" not in " ".join(ClientSearch.objects.values_list("folded", flat=True))


def test_a_child_is_found_by_the_guardian(in_house):
    child = clients.record_client(
        in_house.clerk, name="Tomas", guardian_name="Benedikta Moss", guardian_telephone="0555 777 123"
    )
    for words in ("benedikta", "777123"):
        found = find_clients(in_house.clerk, words)
        assert (found[0].client_id, found[0].name) == (child.pk, "Tomas")
        assert "guardian Benedikta Moss" in found[0].words


def test_the_list_narrows_to_those_found(in_house, people):
    assert [client.name for client in client_list(in_house.clerk, words="olai")] == ["Olîa Duarte"]
    assert client_list(in_house.clerk).count() == len(people)


def test_the_number_of_queries_does_not_grow(in_house, people, django_assert_num_queries):
    with django_assert_num_queries(3):
        find_clients(in_house.clerk, "inga")
    for number in range(20):
        a_client(in_house.clerk, f"Inga Holm {number}")
    with django_assert_num_queries(3):
        assert len(find_clients(in_house.clerk, "inga")) == 20


def test_a_misspelt_short_word_costs_one_query_more(in_house, people, django_assert_num_queries):
    with django_assert_num_queries(4):
        assert find_clients(in_house.clerk, "igna")[0].name == "Inga Holm"


def test_no_search_crosses_studios(house, other_house):
    with other_house.scope():
        a_client(other_house.clerk, "Olia Duarte", telephone="0555 014 277")
    with house.scope():
        mine = a_client(house.clerk, "Olia Duarte", telephone="0555 014 277")
        for words in ("olia duarte", "014277"):
            assert [found.client_id for found in find_clients(house.clerk, words)] == [mine.pk]
        with connection.cursor() as cursor:
            cursor.execute("select count(*) from studio_clientsearch")
            assert cursor.fetchone() == (1,)
            cursor.execute("update studio_clientsearch set words = 'x'")
            assert cursor.rowcount == 1


def test_without_a_scope_the_door_stays_shut(house):
    with house.scope():
        a_client(house.clerk, "Olia Duarte")
    with connection.cursor() as cursor:
        cursor.execute("select * from find_clients('olia', 20)")
        assert cursor.fetchall() == []
        cursor.execute("select count(*) from studio_clientsearch")
        assert cursor.fetchone() == (0,)


def test_no_row_of_the_search_points_into_another_studio(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk)
    with house.scope(), pytest.raises(DatabaseError), transaction.atomic():
        index_words(client_id=theirs.pk, source="garment", source_id=new_id(), words="teal trousers")


def test_telephone_numbers_become_figures():
    assert digits_of("0555 01-42 77") == "05550142" + "77"
    assert digits_of("+44 (0)20 5550", "0555/1") == "440205550 05551"
    assert digits_of("") == ""


def test_the_letters_found_are_marked():
    assert mark_found("Olia Duarte", "dua ol") == [
        ("Ol", True),
        ("ia ", False),
        ("Dua", True),
        ("rte", False),
    ]
    assert mark_found("Olia", "(") == [("Olia", False)]


ROWS = 24_000


def test_the_door_uses_the_index_in_a_large_table(django_db_setup):
    """Asked as the door itself, of the very text of its function; all is rolled back."""
    address = settings.DATABASE.logins["owner"].conninfo()
    door = settings.DATABASE.roles["door"]
    studio, other, client, other_client = (new_id() for _ in range(4))
    with psycopg.connect(address) as owner:
        for where, who in ((studio, client), (other, other_client)):
            owner.execute("select set_config('app.studio', %s, true)", [str(where)])
            owner.execute(
                "insert into platform_studio (id, version, name, address, time_zone, unit, ease_set, created_at) "
                "values (%s, 1, 'Large', '', 'UTC', 'cm', '', now())",
                [where],
            )
            owner.execute(
                "insert into studio_client (id, studio_id, version, created_at, changed_at, name, telephone, email, "
                "unit, guardian_name, guardian_telephone, guardian_email, figures_in_report, notes) "
                "values (%s, %s, 1, now(), now(), 'Many', '', '', 'cm', '', '', '', true, '')",
                [who, where],
            )
        owner.execute("select set_config('app.studio', %s, true)", [str(studio)])
        owner.execute(f"set local role {door}")
        # Names from syllables: many alike, as names are.
        owner.execute(
            """
            insert into studio_clientsearch (id, studio_id, client_id, source, source_id, words, folded, digits, at)
            select gen_random_uuid(), case when n % 4 = 0 then %(other)s else %(studio)s end,
                   case when n % 4 = 0 then %(other_client)s else %(client)s end, 'garment', gen_random_uuid(), name,
                   name, lpad((n * 7919 % 100000000)::text, 8, '0'), now()
            from generate_series(1, %(rows)s) n,
            lateral (select (array['ma','lo','ti','re','sa','ni','ku','be'])[n % 8 + 1]
                || (array['rin','lena','tor','dasi','vel','mo'])[n % 6 + 1] || ' '
                || (array['hol','ber','stra','kin','fal','gor','wen'])[n % 7 + 1]
                || (array['mar','den','sky','lund','tik'])[n / 7 % 5 + 1] || ' ' || md5(n::text) as name) named
            """.replace("%(", "@(")
            .replace("%", "%%")
            .replace("@(", "%("),
            {
                "studio": studio,
                "other": other,
                "client": client,
                "other_client": other_client,
                "rows": ROWS,
            },
        )
        owner.execute(
            "insert into studio_clientsearch (id, studio_id, client_id, source, source_id, words, folded, digits, at) "
            "select gen_random_uuid(), %s, %s, 'client', %s, 'Olîa Duarte', 'olia duarte', '0555014277', now()",
            [studio, client, client],
        )
        owner.execute("analyze studio_clientsearch")
        body, config = owner.execute(
            "select prosrc, proconfig from pg_proc where proname = 'find_clients'"
        ).fetchone()
        assert any(setting.startswith("pg_trgm.word_similarity_threshold=") for setting in config)
        for setting in config:
            name, value = setting.split("=", 1)
            owner.execute("select set_config(%s, %s, true)", [name, value])
        body = body.replace("wanted", "$1").replace("how_many", "$2")
        owner.execute(f"prepare door_query(text, integer) as {body}".encode())
        for words in ("olai", "0142 77"):
            plan = "\n".join(row[0] for row in owner.execute(f"explain execute door_query('{words}', 300)"))
            assert "Bitmap Index Scan on clientsearch_words" in plan
            assert "Bitmap Index Scan on clientsearch_digits" in plan
            assert "Seq Scan on studio_clientsearch" not in plan
        for words in ("olai duart", "555 014 277"):
            started = time.perf_counter()
            found = owner.execute("select words from find_clients(%s, 300)", [words]).fetchall()
            assert time.perf_counter() - started < 0.5
            assert found[0] == ("Olîa Duarte",)
        owner.execute("select set_config('app.studio', %s, true)", [str(other)])
        assert owner.execute("select count(*) from find_clients('duarte', 300)").fetchone() == (0,)
        owner.rollback()
