"""Somebody who only has pip gets the command and the web app."""

import subprocess
import sys
import venv
from pathlib import Path
from zipfile import ZipFile

ROOT = Path(__file__).parents[2]


def run(*words: str | Path) -> str:
    """Run a command from the project's root; give what it prints."""
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_a_wheel_brings_the_web_app_and_the_command_to_a_fresh_environment(tmp_path: Path) -> None:
    pip = ("-m", "pip", "--quiet", "--disable-pip-version-check", "--no-input")
    run(sys.executable, *pip, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", tmp_path, ".")
    (wheel,) = tmp_path.glob("*.whl")
    held = set(ZipFile(wheel).namelist())
    assert {"fallowside/web/index.html", "fallowside/web/sw.js", "fallowside/core/data/entries.toml"} <= held
    assert [name for name in held if "node_modules" in name or name.startswith(("tests/", "web/"))] == []

    venv.create(tmp_path / "fresh", with_pip=True)
    python = tmp_path / "fresh" / "bin" / "python"
    run(
        python,
        *pip,
        "install",
        "--only-binary",
        ":all:",
        "--require-hashes",
        "-r",
        "server/requirements.lock",
    )
    run(python, *pip, "install", "--no-deps", wheel)
    fallowside = python.with_name("fallowside")
    assert "serve" in run(fallowside, "--help")
    run(fallowside, "demo", "--no-serve", "--data", tmp_path / "data")
    assert "because" in run(fallowside, "plan", "--json", "--data", tmp_path / "data")
    found = run(python, "-c", "from fallowside.api import site; print(site.built_app())")
    assert Path(found.strip()).parent.name == "fallowside"
    assert (Path(found.strip()) / "index.html").is_file()
