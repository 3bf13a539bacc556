"""Migrations stand in one line: two written side by side under one number would leave no store openable."""

import re
from pathlib import Path

from fallowside.store import migrate

VERSIONS = Path(migrate.__file__).parent / "migrations" / "versions"


def test_each_migration_has_a_number_of_its_own_and_follows_the_one_before() -> None:
    files = sorted(VERSIONS.glob("v*.py"))
    found = [
        re.findall(r'^(?:down_)?revision = "?(\w+)"?$', file.read_text(), re.MULTILINE) for file in files
    ]
    numbers = [f"{n:04d}" for n in range(1, len(files) + 1)]
    assert [file.name[1:5] for file in files] == numbers
    assert found == [[one, before] for one, before in zip(numbers, ["None", *numbers], strict=False)]
    assert numbers[-1] == migrate.HEAD
