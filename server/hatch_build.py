"""Puts the web app into the wheel, built anew each time, so that a stale page is never shipped.

The app is built in a copy of its sources: a running development server, its packages and its
last build are left alone. Where the machine has no recent Node, the wheel's build asks for the
one pinned in pyproject.toml (dependency group `node`).
"""

import json
import os
import re
import shutil
import subprocess
import tempfile
import tomllib
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

LEFT_OUT = shutil.ignore_patterns("node_modules", "dist", "__pycache__")


class WebApp(BuildHookInterface[Any]):
    """Builds `web/` and puts it into the wheel as `fallowside/web`."""

    def dependencies(self) -> list[str]:
        """Ask for Node as a package if the machine has none that is recent enough."""
        root = Path(self.root)
        if recent_node(root / "web"):
            return []
        project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
        return list(project["dependency-groups"]["node"])

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the web app, unless the project is only linked (an editable install)."""
        if version == "editable":
            return
        root = Path(self.root)
        npm = shutil.which("npm")
        if npm is None or not recent_node(root / "web"):
            raise RuntimeError(
                f"The web app needs Node {oldest_node(root / 'web')} or newer with npm; the path has none. "
                "Install it, or let pip bring it: leave out --no-build-isolation."
            )
        self.workshop = tempfile.TemporaryDirectory(prefix="fallowside-web-")
        copy = Path(self.workshop.name)
        for sources in ("web", "server/fallowside"):
            shutil.copytree(root / sources, copy / sources, ignore=LEFT_OUT)
        web = copy / "web"
        for words in (["ci"], ["run", "build"]):
            subprocess.run([npm, *words], cwd=web, env=with_authorities(), check=True)
        build_data["force_include"][str(web / "dist")] = "fallowside/web"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Take the copy away again."""
        if version != "editable":
            self.workshop.cleanup()


def oldest_node(web: Path) -> str:
    """Give the oldest version of Node that the web app is built with, as `20.19`."""
    wanted = json.loads((web / "package.json").read_text(encoding="utf-8"))["engines"]["node"]
    return str(wanted).removeprefix(">=")


def recent_node(web: Path) -> bool:
    """Tell whether the path holds a Node that is recent enough."""
    node = shutil.which("node")
    if node is None or shutil.which("npm") is None:
        return False
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout
    return numbers(said) >= numbers(oldest_node(web))


def numbers(version: str) -> tuple[int, ...]:
    """Give `v20.19.1` as (20, 19, 1)."""
    return tuple(int(part) for part in re.findall(r"\d+", version))


def with_authorities() -> dict[str, str]:
    """Give the environment, with OpenSSL's own setting for certificate authorities passed on to Node."""
    bundle = os.environ.get("SSL_CERT_FILE")
    return os.environ | ({"NODE_EXTRA_CA_CERTS": bundle} if bundle else {})
