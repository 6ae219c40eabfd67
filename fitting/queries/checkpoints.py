"""The checkpoints of a garment: what each one asks, and what is still missing before it can be answered "done".

Pure: facts in, words out. Two stops stand before what can't be undone: cutting, and machine sewing. A checkpoint is
settled when somebody answered it and nothing has come up since, or when it was gone past with a written reason.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from studio.platform.rights import Right

DONE, PASSED_BY, REOPENED = "done", "passed_by", "reopened"


@dataclass(frozen=True)
class SeamFact:
    """A chosen seam and what its trials on the garment's own cloth say."""

    place: str
    recipe: str
    number: int
    proven_on: date | None = None  # the newest trial on this cloth that passes
    newest_verdict: str = ""  # of any trial on this cloth
    cloth: str = ""  # where it is sewn on another cloth than the garment's own, such as a lining


@dataclass(frozen=True)
class LayFact:
    """A lay with this garment's pieces: how many grainlines were taped, and how many lie off at their newest check.

    ``is_chosen``: it has a drawing that is cut, and such a drawing keeps every rule.
    """

    name: str
    checked: int = 0
    off: int = 0
    is_chosen: bool = True


@dataclass(frozen=True)
class AnswerFact:
    answer: str
    reason: str
    by: str
    at: datetime
    missing: tuple[str, ...] = ()


@dataclass(frozen=True)
class GarmentFacts:
    """Everything that the checkpoints look at, gathered beforehand."""

    client_name: str
    is_measured: bool
    unmeasured: tuple[str, ...]  # names of measures that the chosen pattern has and the body lacks
    plan_state: str = ""  # "" without a plan, else draft, approved or replaced
    plan_lines: int = 0  # what the approved plan asks to be drawn, and how much of it was ticked off
    plan_ticked: int = 0
    pattern: str = ""
    cloth: str = ""
    cloth_is_knit: bool = False
    cloth_direction_known: bool = True
    cloth_tests: frozenset[str] = frozenset()
    lays: tuple[LayFact, ...] = ()
    seams: tuple[SeamFact, ...] = ()
    baste_sessions: int = 0
    baste_signed_off: int = 0
    open_notes: int = 0
    uncarried: int = 0  # decided widths and lengths that the fit plan could hold and does not
    answers: Mapping[str, AnswerFact] = field(default_factory=dict)


@dataclass(frozen=True)
class Checkpoint:
    """One question. ``stop`` names what must not happen before it is settled."""

    code: str
    name: str
    question: str
    next_step: str  # what a client reads when this comes next
    stop: str  # "cutting", "sewing" or ""
    right: Right
    needs: Callable[[GarmentFacts], list[str]]
    remarks: Callable[[GarmentFacts], list[str]]


@dataclass(frozen=True)
class CheckpointState:
    """A checkpoint of one garment as it stands now."""

    checkpoint: Checkpoint
    answer: AnswerFact | None
    needs: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def code(self) -> str:
        return self.checkpoint.code

    @property
    def is_done(self) -> bool:
        return self.answer is not None and self.answer.answer == DONE and not self.needs

    @property
    def is_passed_by(self) -> bool:
        return self.answer is not None and self.answer.answer == PASSED_BY

    @property
    def in_doubt(self) -> bool:
        """Answered "done", but something has come up since."""
        return self.answer is not None and self.answer.answer == DONE and bool(self.needs)

    @property
    def settled(self) -> bool:
        return self.is_done or self.is_passed_by

    @property
    def state(self) -> str:
        """done, passed_by, in_doubt or open."""
        if self.is_done:
            return "done"
        if self.is_passed_by:
            return "passed_by"
        return "in_doubt" if self.in_doubt else "open"


@dataclass(frozen=True)
class Stop:
    """Whether what can't be undone may begin: what is still open, and what was gone past."""

    before: str
    open: tuple[CheckpointState, ...]
    passed_by: tuple[CheckpointState, ...]

    @property
    def clear(self) -> bool:
        return not self.open


def _body(facts: GarmentFacts) -> list[str]:
    if not facts.is_measured:
        return [f"No measuring of {facts.client_name} is recorded."]
    if facts.unmeasured and not facts.plan_state:
        return [f"The pattern {facts.pattern} needs {_listed(facts.unmeasured)}, not measured yet."]
    return []


def _paper(facts: GarmentFacts) -> list[str]:
    if not facts.pattern:
        return ["No pattern is chosen."]
    if not facts.plan_state:
        return [f"There is no fit plan for the pattern {facts.pattern}."]
    if facts.plan_state == "replaced":
        return ["The fit plan was replaced by a later one; take that one."]
    return [] if facts.plan_state == "approved" else ["The fit plan is not approved yet."]


def _paper_remarks(facts: GarmentFacts) -> list[str]:
    left = facts.plan_lines - facts.plan_ticked
    if facts.plan_state != "approved" or left <= 0:
        return []
    return [
        f"{left} of {facts.plan_lines} changes of the fit plan {'is' if left == 1 else 'are'} not ticked as drawn."
    ]


def _cloth(facts: GarmentFacts) -> list[str]:
    if not facts.cloth:
        return ["No cloth is chosen."]
    if facts.cloth_is_knit and "stretch" not in facts.cloth_tests:
        return [f"The stretch of {facts.cloth} has not been tested; a knit's ease depends on it."]
    return []


def _cloth_remarks(facts: GarmentFacts) -> list[str]:
    found = []
    if facts.cloth and not facts.cloth_direction_known:
        found.append("The cloth's direction is not known: lay every piece the same way.")
    if facts.cloth and "wash" not in facts.cloth_tests:
        found.append("No wash test is recorded: its shrinkage is not known.")
    return found


def _lay(facts: GarmentFacts) -> list[str]:
    found = []
    if facts.lays and not any(lay.is_chosen for lay in facts.lays):
        found.append("No lay of this garment has a drawing that is chosen.")
    return found + [
        f"In the lay “{lay.name}” {_count(lay.off, 'piece lies', 'pieces lie')} off the grain at the newest check."
        for lay in facts.lays
        if lay.off
    ]


def _lay_remarks(facts: GarmentFacts) -> list[str]:
    if not facts.lays:
        return ["No lay is recorded for this garment: answer from the table."]
    return [
        f"In the lay “{lay.name}” no grainline is taped yet."
        for lay in facts.lays
        if lay.is_chosen and not lay.checked
    ]


def _seams(facts: GarmentFacts) -> list[str]:
    if not facts.seams:
        return ["No seam is chosen."]
    if not facts.cloth:
        return ["No cloth is chosen, so no trial can prove a seam on it."]
    return [
        f"{_first_capital(seam.place)}: {seam.recipe}, version {seam.number}, has no passing trial on "
        f"{seam.cloth or facts.cloth}."
        for seam in facts.seams
        if seam.proven_on is None
    ]


def _seam_remarks(facts: GarmentFacts) -> list[str]:
    return [
        f"{_first_capital(seam.place)}: the newest trial of {seam.recipe} on this cloth did not pass."
        for seam in facts.seams
        if seam.proven_on is not None and seam.newest_verdict != "passes"
    ]


def _baste(facts: GarmentFacts) -> list[str]:
    if facts.baste_signed_off and not facts.open_notes:
        return []
    if not facts.baste_sessions:
        return ["No basted fitting has been held."]
    if facts.open_notes:
        count = facts.open_notes
        return [f"{count} fit note{' is' if count == 1 else 's are'} not decided yet."]
    return ["The basted fitting is not signed off."]


def _carry_remarks(facts: GarmentFacts) -> list[str]:
    if not facts.uncarried:
        return []
    changes = _count(facts.uncarried, "decided change does", "decided changes do")
    return [f"{changes} not stand in the fit plan yet."]


def _none(facts: GarmentFacts) -> list[str]:
    return []


def _sewn(facts: GarmentFacts) -> list[str]:
    return [
        f"{state.checkpoint.name} is not settled."
        for state in states(facts, before="sewn")
        if not state.settled
    ]


def _handed(facts: GarmentFacts) -> list[str]:
    sewn = state_of(facts, "sewn")
    found = [] if sewn.settled else ["The sewing is not done."]
    if facts.open_notes:
        found.append("A fit note is not decided yet.")
    return found


CHECKPOINTS: tuple[Checkpoint, ...] = (
    Checkpoint(
        "body_measured", "Body measured", "Is the body measured for this garment?",
        "We take your measurements.", "cutting", Right.FIT, _body, _none,
    ),
    Checkpoint(
        "paper_altered", "Paper altered", "Are the plan's alterations drawn on the paper?",
        "We alter the paper pattern to your measurements.", "cutting", Right.FIT, _paper, _paper_remarks,
    ),
    Checkpoint(
        "cloth_known", "Cloth known", "Is the cloth tested, and its direction decided?",
        "We test your cloth.", "cutting", Right.FIT, _cloth, _cloth_remarks,
    ),
    Checkpoint(
        "lay_and_grain", "Lay and grain checked",
        "Do all pieces lie in one direction, and do two tape readings from the selvedge agree for each grainline?",
        "We lay the pattern on your cloth and cut it.", "cutting", Right.FIT, _lay, _lay_remarks,
    ),
    Checkpoint(
        "seams_proven", "Seams proven", "Does every seam have a sample on this cloth that passes?",
        "We sew samples of the seams on your cloth.", "sewing", Right.FIT, _seams, _seam_remarks,
    ),
    Checkpoint(
        "basted_and_fitted", "Basted and fitted", "Is the basted garment fitted, and every change decided?",
        "We baste the garment by hand for a fitting.", "sewing", Right.FIT, _baste, _carry_remarks,
    ),
    Checkpoint(
        "sewn", "Sewn", "Is the garment sewn, with the decided changes, and are all pins counted?",
        "We sew the garment.", "", Right.FIT, _sewn, _carry_remarks,
    ),
    Checkpoint(
        "handed_over", "Handed over", "Has the client got it?",
        "Your garment is ready to be collected.", "", Right.KEEP_GARMENTS, _handed, _none,
    ),
)  # fmt: skip
BY_CODE = {found.code: found for found in CHECKPOINTS}
CODES = tuple(BY_CODE)


def state_of(facts: GarmentFacts, code: str) -> CheckpointState:
    """One checkpoint of one garment."""
    found = BY_CODE[code]
    answer = facts.answers.get(code)
    if answer is not None and answer.answer == REOPENED:
        answer = None
    return CheckpointState(found, answer, tuple(found.needs(facts)), tuple(found.remarks(facts)))


def states(facts: GarmentFacts, *, before: str = "") -> list[CheckpointState]:
    """All checkpoints in order, or those that come before one of them."""
    codes = CODES[: CODES.index(before)] if before else CODES
    return [state_of(facts, code) for code in codes]


def next_of(found: list[CheckpointState]) -> CheckpointState | None:
    """The first checkpoint that is not settled; None when all are."""
    return next((state for state in found if not state.settled), None)


def stop_before(found: list[CheckpointState], what: str) -> Stop:
    """The stop before "cutting", or before "sewing" (which also needs everything before cutting)."""
    wanted = {"cutting"} if what == "cutting" else {"cutting", "sewing"}
    mine = [state for state in found if state.checkpoint.stop in wanted]
    return Stop(
        what,
        tuple(state for state in mine if not state.settled),
        tuple(state for state in mine if state.is_passed_by),
    )


def _listed(names: tuple[str, ...]) -> str:
    words = [name[:1].lower() + name[1:] for name in names]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _first_capital(words: str) -> str:
    return words[:1].upper() + words[1:]
