"""Many trials at once: held to the same checks and the same judge as one typed on its page, stored in one stroke."""

from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import connection
from psycopg.types.json import Jsonb

from seamlab.calc.cloth import ClothFigures
from seamlab.calc.seam import judge
from seamlab.models import Cloth, Machine, SeamRecipeVersion, SeamTrial
from seamlab.queries.cloth import cloth_figures
from seamlab.queries.mapping import VERDICT_TO_ROW, demand_of, reason_rows, trial_figures
from seamlab.queries.transfer_rows import TRIAL_FIGURES, Values
from seamlab.services.checks import Checks, moment, refused_by_calc
from seamlab.services.trial_checks import CALC_NAMES, check_figures, check_pairing
from studio.calc.transfer_words import fold
from studio.platform.errors import Refused
from studio.platform.models import Member
from studio.platform.rights import Actor

Tell = Callable[[int, str, str], None]  # row, key of the column, sentence
LAST = None  # under this number stands a recipe's newest version
MEANT_AS_PROPOSED = (
    "As proposed when it was sewn; with the tests of the cloth that are known here it would differ."
)


@dataclass
class Bench:
    """What a trial refers to, whole rows, loaded once."""

    versions: dict[tuple[str, int | None], SeamRecipeVersion] = field(default_factory=dict)
    cloths: dict[str, tuple[Cloth, ClothFigures]] = field(default_factory=dict)
    machines: dict[str, Machine] = field(default_factory=dict)
    members: dict[str, UUID] = field(default_factory=dict)

    @classmethod
    def set_up(cls) -> "Bench":
        """Everything of the studio in scope: five queries."""
        found = cls()
        versions = SeamRecipeVersion.objects.select_related(
            "recipe", "needle_thread", "under_thread", "needle"
        )
        for version in versions.order_by("number"):
            name = fold(version.recipe.name)
            found.versions[name, version.number] = found.versions[name, LAST] = version
        for cloth in Cloth.objects.prefetch_related("tests"):
            found.cloths[fold(cloth.name)] = (cloth, cloth_figures(cloth))
        for machine in Machine.objects.all():
            found.machines[fold(machine.name)] = machine
        twice = Counter(fold(name) for name in Member.objects.values_list("name", flat=True))
        for pk, name in Member.objects.values_list("pk", "name"):
            if twice[fold(name)] == 1:
                found.members[fold(name)] = pk
        return found


def trials_from(actor: Actor, rows: Sequence[tuple[int, Values]], tell: Tell) -> tuple[list[SeamTrial], int]:
    """Judged trials that are not here yet, and how many are here already; problems go to ``tell``.

    Of equal rows as many are taken for known as are here.
    """
    bench = Bench.set_up()
    known = _known()
    fits = _Fits()
    found: list[SeamTrial] = []
    there = 0
    for number, values in rows:
        try:
            trial = _trial(actor, bench, values, fits)
        except Refused as exc:
            for key, words in exc.reasons.items():
                tell(number, key.removesuffix("_id"), words)
            continue
        mark = _mark([getattr(trial, name) for name in _MARKS])
        if known[mark]:
            known[mark] -= 1
            there += 1
        else:
            found.append(trial)
    return found, there


def _trial(actor: Actor, bench: Bench, values: Values, fits: "_Fits") -> SeamTrial:
    version = bench.versions.get((fold(values["recipe"]), values.get("number", LAST)))
    if version is None:
        what = f"version {values['number']} of " if "number" in values else ""
        raise Refused(
            {"recipe": f"There is no {what}recipe “{values['recipe'][:80]}”, neither here nor in this file."}
        )
    cloth = bench.cloths.get(fold(values["cloth"]))
    if cloth is None:
        raise Refused(
            {"cloth": f"There is no cloth called “{values['cloth'][:80]}”, neither here nor in this file."}
        )
    machine = bench.machines.get(fold(values["machine"])) if "machine" in values else None
    if machine is None and "machine" in values:
        raise Refused(
            {
                "machine": f"There is no machine called “{values['machine'][:80]}”, neither here nor in this file."
            }
        )
    facts = {name: values[name] for name in TRIAL_FIGURES if name in values}
    fits.check(facts)
    facts["sewn_at"] = moment(values["sewn_at"], "sewn_at")
    trial = SeamTrial(
        version=version,
        cloth=cloth[0],
        machine=machine,
        sewn_by_id=bench.members.get(fold(values.get("sewn_by", "")), actor.member_id),
        **facts,
    )
    checks = Checks()
    check_pairing(trial, checks)
    check_figures(trial, checks)
    checks.done()
    try:
        judgement = judge(trial_figures(trial), cloth[1], demand_of(trial))
    except ValueError as exc:
        raise refused_by_calc(exc, CALC_NAMES) from exc
    trial.proposed = VERDICT_TO_ROW[judgement.verdict]
    trial.reasons = reason_rows(judgement)
    if trial.verdict != trial.proposed and not trial.verdict_reason:
        if values.get("proposed") != trial.verdict:
            raise Refused(
                {
                    "verdict_reason": f"The figures say: {trial.get_proposed_display().lower()}. "
                    "Say why it was decided otherwise."
                }
            )
        trial.verdict_reason = MEANT_AS_PROPOSED
    return trial


class _Fits:
    """Does a value fit its column in the database? Asked once for each value."""

    def __init__(self) -> None:
        self.good: set[tuple[str, Hashable]] = set()

    def check(self, facts: Values) -> None:
        reasons = {}
        for name, value in facts.items():
            if (name, value) in self.good:
                continue
            try:
                SeamTrial._meta.get_field(name).clean(value, None)  # type: ignore[union-attr]
            except ValidationError as exc:
                reasons[name] = " ".join(exc.messages)
            else:
                if not isinstance(value, datetime):
                    self.good.add((name, value))
        if reasons:
            raise Refused(reasons)


# What makes two trials the same; the reason is left out, since an import may have to add one.
_MARKS = (
    "version_id",
    "cloth_id",
    "machine_id",
    *(n for n in TRIAL_FIGURES if n not in ("verdict_reason", "note")),
)


def _mark(parts: Sequence[Any]) -> tuple[Any, ...]:
    return tuple(parts)


def _known() -> Counter[tuple[Any, ...]]:
    """Every trial that is here, also those that were withdrawn: they don't come back by an import."""
    return Counter(SeamTrial.objects.values_list(*_MARKS).iterator(10_000))


def store_trials(trials: Sequence[SeamTrial]) -> None:
    """Insert them all: by COPY into a temporary table, since COPY into a table with policies is refused."""
    if not trials:
        return
    fields = [field for field in SeamTrial._meta.concrete_fields if field.column]
    columns = ", ".join(f'"{field.column}"' for field in fields)
    json = [field.get_internal_type() == "JSONField" for field in fields]
    names = [field.attname for field in fields]
    with connection.cursor() as cursor:
        cursor.execute("drop table if exists pg_temp.new_trial")
        cursor.execute("create temporary table new_trial (like seamlab_seamtrial) on commit drop")
        with cursor.copy(f"copy new_trial ({columns}) from stdin") as copy:
            for trial in trials:
                values = [getattr(trial, name) for name in names]
                copy.write_row(
                    [Jsonb(value) if is_json else value for value, is_json in zip(values, json, strict=True)]
                )
        cursor.execute(f"insert into seamlab_seamtrial ({columns}) select {columns} from new_trial")  # noqa: S608
        cursor.execute("drop table pg_temp.new_trial")


__all__ = ["store_trials", "trials_from"]
