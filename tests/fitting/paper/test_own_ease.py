"""A studio's own ease rules: written, copied, followed, and used by plans."""

from decimal import Decimal as D

import pytest

from fitting.models import OwnEaseRule
from fitting.queries.ease_rules import all_ease_sets, set_rules
from fitting.queries.plans import plan_get
from fitting.services.ease import (
    change_ease_set,
    drop_ease_rule,
    follow_ease_set,
    set_ease_rule,
    write_ease_set,
)
from fitting.services.plans import make_plan
from studio.platform.errors import NotAllowed, NotHere, Refused
from studio.platform.models import Studio

HIP = {
    "kind": "skirt", "zone": "hip", "closeness": "fitted", "structure": "woven", "low_mm": D(60), "target_mm": D(70),
    "high_mm": D(80), "source": "our own practice",
}  # fmt: skip


def rule_of(plan, code):
    return next((one.target_mm, one.source) for one in plan.zones if one.zone == code)


def test_a_plan_follows_the_studios_own_rule_and_borrows_the_rest(in_house, olia, a_skirt):
    own = write_ease_set(in_house.instructor, title="How we like it")
    set_ease_rule(in_house.instructor, own.pk, **HIP)
    follow_ease_set(in_house.instructor, code=str(own.pk))
    made = make_plan(in_house.instructor, client_id=olia.pk, pattern_id=a_skirt.pk)
    plan = plan_get(in_house.instructor, made.pk)
    assert plan.ease_set == "How we like it (this studio)"
    assert rule_of(plan, "hip") == (70.0, "our own practice")
    # What the set does not say comes from the sourced ones (costume-shop text: waist 1/2 to 3/4 in).
    assert rule_of(plan, "waist") == (15.875, "Central Washington University, costume-shop text, chapter 16")
    assert made.inputs["rules"]["waist"]["borrowed"] is True
    # A changed rule changes no plan that was made before.
    set_ease_rule(in_house.instructor, own.pk, **(HIP | {"target_mm": D(65)}))
    assert OwnEaseRule.objects.count() == 1
    assert rule_of(plan_get(in_house.instructor, made.pk), "hip")[0] == 70.0


def test_a_copy_says_what_its_original_says(in_house):
    own = write_ease_set(in_house.instructor, title="Copy", copy_of="metric_page")
    _, first, _ = set_rules(in_house.clerk, "metric_page")
    _, second, row = set_rules(in_house.clerk, str(own.pk))
    assert row is not None

    def plain(rules):
        return sorted((one.kind, one.zone, one.closeness, one.structure, one.rule, one.note) for one in rules)

    assert [one[:4] for one in plain(second)] == [one[:4] for one in plain(first)]
    assert {(one.rule.low, one.rule.target, one.rule.high, one.rule.source) for one in second} == {
        (one.rule.low, one.rule.target, one.rule.high, one.rule.source) for one in first
    }
    drop_ease_rule(in_house.instructor, own.pk, second[0].key)
    assert len(set_rules(in_house.clerk, str(own.pk))[1]) == len(first) - 1
    change_ease_set(in_house.instructor, own.pk, expected_version=None, title="Ours")
    assert [one.title for one in all_ease_sets(in_house.clerk)][-1] == "Ours"


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"target_mm": D(90)}, "target_mm", "least must not be more"),
        ({"zone": "sleeve"}, "zone", "not compared for skirts"),
        ({"source": " "}, "source", "who states it"),
        ({"stretch": "stable"}, "stretch", "Only a knit"),
        ({"high_mm": D(9000)}, "high_mm", "60.0 cm"),
        ({"kind": "cape"}, "kind", "'cape'"),
        ({"low_mm": D("NaN")}, "low_mm", "between"),
    ],
)
def test_rules_that_can_not_be_are_refused(in_house, changes, field, words):
    own = write_ease_set(in_house.instructor, title="Ours")
    with pytest.raises(Refused) as found:
        set_ease_rule(in_house.instructor, own.pk, **(HIP | changes))
    assert words in found.value.reasons[field]
    assert not OwnEaseRule.objects.exists()


def test_only_a_set_that_is_there_can_be_followed_and_by_whom(in_house):
    for code in ("nobody", str(in_house.studio_id)):
        with pytest.raises(Refused, match="no ease set"):
            follow_ease_set(in_house.instructor, code=code)
    assert Studio.objects.get().ease_set == ""
    own = write_ease_set(in_house.instructor, title="Ours")
    with pytest.raises(Refused, match="already a set"):
        write_ease_set(in_house.instructor, title="ours")
    for act in (
        lambda: follow_ease_set(in_house.clerk, code="metric_page"),
        lambda: set_ease_rule(in_house.clerk, own.pk, **HIP),
    ):
        with pytest.raises(NotAllowed):
            act()
    with pytest.raises(NotHere):
        set_rules(in_house.clerk, "nobody")


def test_sets_take_a_constant_number_of_queries(in_house, count_queries):
    write_ease_set(in_house.instructor, title="One", copy_of="costume_text")
    few = count_queries(lambda: all_ease_sets(in_house.clerk))
    write_ease_set(in_house.instructor, title="Two", copy_of="common_practice")
    assert count_queries(lambda: all_ease_sets(in_house.clerk)) == few == 3
