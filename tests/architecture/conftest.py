"""Says at the end of a run which interpreters the core was tried on."""

import pytest

from tests.architecture.pythons import FOUND


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name the interpreters, since a machine without an old or a new one proves less."""
    terminalreporter.write_line(f"the core's plan was compared on Python {', '.join(FOUND)}")
