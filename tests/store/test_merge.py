"""Three-way merge: laws first, then what people do."""

from hypothesis import given
from hypothesis import strategies as st

from sillway.store.merge import ABSENT, changes, merge, same

scalars = st.none() | st.booleans() | st.integers(-3, 3) | st.text("ab", max_size=2)
docs = st.recursive(
    scalars,
    lambda inner: (
        st.dictionaries(st.sampled_from("abc"), inner, max_size=3) | st.lists(inner, max_size=3)
    ),
    max_leaves=8,
)


@given(docs, docs)
def test_a_side_that_changed_nothing_gives_way(base, other):
    assert same(merge(base, base, other).content, other)
    assert same(merge(base, other, base).content, other)
    assert not merge(base, other, base).clashes


@given(docs, docs)
def test_the_same_change_twice_is_no_clash(base, both):
    merged = merge(base, both, both)
    assert not merged.clashes
    assert same(merged.content, both)


@given(docs, docs, docs)
def test_order_of_saving_decides_nothing_without_clashes(base, mine, theirs):
    one, other = merge(base, mine, theirs), merge(base, theirs, mine)
    assert {clash.field for clash in one.clashes} == {clash.field for clash in other.clashes}
    if not one.clashes:
        assert _unordered(one.content) == _unordered(other.content)


@given(docs, docs, docs)
def test_choosing_a_side_everywhere_ends_all_clashes(base, mine, theirs):
    fields = [clash.field for clash in merge(base, mine, theirs).clashes]
    for side in ("mine", "theirs"):
        assert not merge(base, mine, theirs, dict.fromkeys(fields, side)).clashes


@given(docs, docs)
def test_no_difference_shows_no_change(before, after):
    assert bool(changes(before, after)) != same(before, after)


def test_different_fields_join():
    base = {"ramp": {"length": "48 in", "rise": "11"}, "note": ""}
    mine = {"ramp": {"length": "49 in", "rise": "11"}, "note": ""}
    theirs = {"ramp": {"length": "48 in", "rise": "12"}, "note": "seen"}
    merged = merge(base, mine, theirs)
    assert merged.content == {"ramp": {"length": "49 in", "rise": "12"}, "note": "seen"}
    assert not merged.clashes


def test_one_field_two_answers_is_a_clash_that_names_all_three():
    (clash,) = merge({"a": {"b": 1}}, {"a": {"b": 2}}, {"a": {"b": 3}}).clashes
    assert (clash.field, clash.base, clash.mine, clash.theirs) == ("a.b", 1, 2, 3)


def test_a_measure_is_one_answer():
    """The value of one must not meet the way of the other."""
    base = {"x": {"value": "48 in", "way": "tape"}}
    mine = {"x": {"value": "49 in", "way": "tape"}}
    theirs = {"x": {"value": "48 in", "way": "reported"}}
    assert [clash.field for clash in merge(base, mine, theirs).clashes] == ["x"]


def test_entries_of_a_list_join_by_their_name():
    base = {"seats": [{"id": "a", "mass": 1}, {"id": "b", "mass": 1}]}
    mine = {"seats": [{"id": "a", "mass": 2}, {"id": "b", "mass": 1}]}
    theirs = {"seats": [{"id": "b", "mass": 3}, {"id": "a", "mass": 1}, {"id": "c", "mass": 4}]}
    merged = merge(base, mine, theirs)
    assert not merged.clashes
    assert {one["id"]: one["mass"] for one in merged.content["seats"]} == {"a": 2, "b": 3, "c": 4}


def test_taken_out_here_and_changed_there_is_a_clash():
    base = {"seats": [{"id": "a", "mass": 1}, {"id": "b", "mass": 1}]}
    mine = {"seats": [{"id": "b", "mass": 1}]}
    theirs = {"seats": [{"id": "a", "mass": 9}, {"id": "b", "mass": 1}]}
    (clash,) = merge(base, mine, theirs).clashes
    assert (clash.field, clash.mine) == ("seats[a]", ABSENT)


def test_true_and_one_differ():
    assert not same({"a": True}, {"a": 1})
    assert merge({"a": 0}, {"a": True}, {"a": 1}).clashes


def _unordered(value):
    if isinstance(value, dict):
        return {key: _unordered(one) for key, one in value.items()}
    if isinstance(value, list):
        return sorted((_unordered(one) for one in value), key=repr)
    return repr(value)
