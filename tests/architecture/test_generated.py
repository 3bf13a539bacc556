"""What the web app is told of the core is what the core says."""

from typing import TypedDict

import pytest

from fallowside.core import entries
from fallowside.exchange import typescript
from fallowside.sync.shapes import HandedOut


@pytest.mark.parametrize("name", typescript.files())
def test_a_generated_file_is_fresh(name: str) -> None:
    stands = (typescript.GENERATED / name).read_text(encoding="utf-8")
    assert stands == typescript.files()[name], "type `make shapes`, and look at what changed"


def test_what_every_entry_may_say_is_the_envelope_the_judge_knows() -> None:
    assert set(HandedOut.__annotations__) == set(entries.spec()["envelope"])


class Odd(TypedDict):
    days: set[int]


def test_a_type_with_no_form_in_typescript_is_refused() -> None:
    with pytest.raises(TypeError, match=r"set\[int\] has no form"):
        list(typescript.declarations({"Odd": Odd}))
