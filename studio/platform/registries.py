"""What must cross from a wing upwards: each wing fills these when it starts; the platform knows no wing."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from studio.platform.rights import Actor, Right

# A function that tells how far long work has come: (percent, words).
Progress = Callable[[int, str], None]


@dataclass(frozen=True)
class JobKind:
    """How one kind of long work is done, in three steps (see jobs.py)."""

    name: str
    words: str  # what people read: "Fit report for Olia"
    queue: str
    prepare: Callable[[dict[str, Any]], Any]  # in scope: arguments -> a snapshot
    work: Callable[[Any, Progress], Any]  # no transaction, no database: snapshot -> output
    finish: Callable[[dict[str, Any], Any, Any], dict[str, Any]]  # in scope: stores, returns the job's result
    link: Callable[[dict[str, Any]], str] | None = None  # result -> the address of what was made
    right: Right = Right.SEE_JOBS  # who may cancel it or try it again
    # In scope, before the job's own row is locked: locks whom ``finish`` writes about. An erasure locks the client,
    # then clears her jobs; the other way round the two would wait for each other.
    hold: Callable[[dict[str, Any]], None] | None = None


@dataclass(frozen=True)
class Panel:
    """A part of a client's page that another wing brings."""

    order: int
    right: Right
    template: str
    context: Callable[[Actor, UUID], dict[str, Any]]


@dataclass(frozen=True)
class MenuEntry:
    """A page in the menu; ``aside`` puts what is opened now and then under the member's own name."""

    order: int
    words: str
    route: str
    right: Right
    aside: bool = False


@dataclass(frozen=True)
class Subject:
    """What a part of an address names, in words ("a garment"), and the clients whom that shows."""

    words: str
    clients_of: Callable[[UUID], Iterable[UUID]]


@dataclass(frozen=True)
class Section:
    """A part of what is kept about a client, to be read by her: a table, or sentences where ``columns`` is empty.

    Every row has as many texts as there are columns; ``nothing`` is said where there are no rows.
    """

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    nothing: str
    lead: str = ""
    sentences: Sequence[str] = field(default=())


JOB_KINDS: dict[str, JobKind] = {}
CLIENT_PANELS: list[Panel] = []
MENU: list[MenuEntry] = []
# Pages about a course that another wing brings, linked on the course's own page; the address gets ?course=<id>.
COURSE_PAGES: list[MenuEntry] = []
# The page behind the search box in every page's head: one entry, its form field is called "words".
FINDERS: list[MenuEntry] = []
# What a wing knows of a client, for her export: name -> function(actor, client id) -> plain data.
CLIENT_EXPORTS: dict[str, Callable[[Actor, UUID], Any]] = {}
# The same for people to read, in the order in which it is read.
CLIENT_SECTIONS: list[tuple[int, Callable[[Actor, UUID], list[Section]]]] = []
# By the name of a part of an address ("garment_id"), so that every page and answer about a client is written down.
SUBJECTS: dict[str, Subject] = {}
# Who writes down that a member looked: (actor, clients, the subject's name).
LOOK_KEEPERS: list[Callable[[Actor, Sequence[UUID], str], None]] = []
# What a wing clears away once an hour, in the scope of each studio: name -> function that tells how many went.
TIDIERS: dict[str, Callable[[], int]] = {}
# The database function of role eraser by which a wing forgets a client, in the order in which they must run.
CLIENT_ERASERS: list[tuple[int, str]] = []
# What waits on the first page, by wing; ``context`` gets the actor and the studio's id.
HOME_PANELS: list[Panel] = []


def register_job(kind: JobKind) -> None:
    JOB_KINDS[kind.name] = kind


def register_panel(panel: Panel) -> None:
    CLIENT_PANELS.append(panel)
    CLIENT_PANELS.sort(key=lambda found: found.order)


def register_menu(*entries: MenuEntry) -> None:
    MENU.extend(entries)
    MENU.sort(key=lambda entry: entry.order)


def register_finder(entry: MenuEntry) -> None:
    FINDERS[:] = [entry]


def register_sections(order: int, sections: Callable[[Actor, UUID], list[Section]]) -> None:
    CLIENT_SECTIONS.append((order, sections))
    CLIENT_SECTIONS.sort(key=lambda entry: entry[0])


def register_eraser(order: int, function: str) -> None:
    CLIENT_ERASERS.append((order, function))
    CLIENT_ERASERS.sort()
