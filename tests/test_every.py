"""A grouped test tells every failure of its group, and tries every case though an earlier one failed."""

from __future__ import annotations

import pytest

from tests.every import every, gathered, tried


def test_all_failures_are_told_by_name():
    seen = []

    def check(number: int) -> None:
        seen.append(number)
        assert number != 2, "two is wrong"
        if number == 4:
            raise ValueError("four cannot be read")

    before = tried()
    with pytest.raises(pytest.fail.Exception) as failed:
        every({f"case {n}": n for n in range(1, 6)}, check)
    said = str(failed.value)
    assert seen == [1, 2, 3, 4, 5] and tried() - before == 5
    assert said.startswith("2 of 5 fail") and "case 2: two is wrong" in said
    assert "case 4: ValueError: four cannot be read" in said and "of check)" in said
    assert not any(f"case {n}:" in said for n in (1, 3, 5))


def test_a_group_of_nothing_is_refused_and_one_that_holds_is_silent():
    with pytest.raises(AssertionError, match="proves nothing"):
        every([], print)
    assert every(["a", "b"], str.lower) is None
    assert gathered(["ab", "cd", "ae"], lambda x: x[0]) == {"a": ["ab", "ae"], "c": ["cd"]}
