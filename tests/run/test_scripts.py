"""What `make` calls: it finds a Python, and installs what tests need or says what is left out."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).parents[2] / "scripts"
APT_LINE = "sudo apt-get install -y make python3 python3-venv"


def bare_system(directory: Path, **programs: str) -> dict[str, str]:
    """Return an environment with a few programs and nothing else; `programs` are shell scripts by name."""
    directory.mkdir()
    for name in ("bash", "env", "id"):
        found = shutil.which(name)
        assert found is not None
        (directory / name).symlink_to(found)
    for name, text in programs.items():
        (directory / name).unlink(missing_ok=True)
        (directory / name).write_text(f"#!/usr/bin/env bash\n{text}\n", encoding="utf-8")
        (directory / name).chmod(0o755)
    return {"PATH": str(directory)}


def run(script: str, *words: str, environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """Run a script of ours."""
    bash = shutil.which("bash")
    assert bash is not None
    return subprocess.run(
        [bash, str(SCRIPTS / script), *words], env=environment, capture_output=True, text=True, check=False, timeout=60
    )


def test_find_python_without_any_prints_the_one_apt_line(tmp_path: Path) -> None:
    """A newcomer can copy it."""
    done = run("find_python.sh", "--check", environment=bare_system(tmp_path / "bin"))
    assert done.returncode == 1
    assert APT_LINE in done.stderr


def test_find_python_with_an_old_one_prints_the_one_apt_line(tmp_path: Path) -> None:
    """An older Python is not tried on."""
    done = run("find_python.sh", "--check", environment=bare_system(tmp_path / "bin", python3="exit 1"))
    assert done.returncode == 1
    assert "Python 3.11 or newer" in done.stderr
    assert APT_LINE in done.stderr


def test_find_python_without_venv_prints_the_one_apt_line(tmp_path: Path) -> None:
    """Debian packs venv apart."""
    no_venv = 'case "$2" in *ensurepip*) exit 1 ;; esac'
    done = run("find_python.sh", "--check", environment=bare_system(tmp_path / "bin", python3=no_venv))
    assert done.returncode == 1
    assert "cannot make an environment" in done.stderr
    assert APT_LINE in done.stderr


def test_find_python_takes_a_newer_one_beside_an_old_one(tmp_path: Path) -> None:
    """A second Python may be the right one."""
    system = bare_system(tmp_path / "bin", **{"python3": "exit 1", "python3.12": "exit 0"})
    assert run("find_python.sh", environment=system).stdout == "python3.12\n"


@pytest.mark.parametrize("ci", [False, True])
def test_install_without_the_right_to_says_what_is_left_out(tmp_path: Path, ci: bool) -> None:
    """Each missing part names its tests and the reason; in CI that is a failure."""
    system = bare_system(tmp_path / "bin", id="echo 1000", **{"apt-get": "exit 99"})
    hidden = {"mosquitto": "tests marked broker", "chromium": "tests marked browser", "strace": "synced to disk"}
    done = run("install_test_parts.sh", environment={**system, **({"CI": "true"} if ci else {})})
    assert done.returncode == (1 if ci else 0)
    for part, tests in hidden.items():
        if any(Path(place, part).exists() for place in ("/usr/sbin", "/usr/local/sbin")):
            continue  # those places are always looked at
        (line,) = [each for each in done.stderr.splitlines() if f"because {part} is not there" in each]
        assert tests in line
        assert "installing it needs root" in line
    assert ("In CI nothing may be left out." in done.stderr) == ci


def test_install_as_root_asks_for_each_missing_part(tmp_path: Path) -> None:
    """One by one: what one system lacks does not hold up the others."""
    log = tmp_path / "log"
    system = bare_system(tmp_path / "bin", id="echo 0", **{"apt-get": f'echo "$@" >> {log}'})
    done = run("install_test_parts.sh", environment=system)
    asked = log.read_text(encoding="utf-8").splitlines()
    assert asked[0] == "-q update"
    assert "-q install -y --no-install-recommends strace" in asked
    assert "apt-get could not install it" in done.stderr


def test_install_with_everything_there_says_nothing(tmp_path: Path) -> None:
    """The second `make test` goes straight to the tests."""
    programs = ("mosquitto", "mosquitto_pub", "chromium", "initdb", "pdftotext", "strace")
    system = bare_system(tmp_path / "bin", **dict.fromkeys(programs, "exit 0"))
    done = run("install_test_parts.sh", environment=system)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_ci_runs_what_a_person_runs() -> None:
    """CI calls `make test`, with nothing left out."""
    text = (SCRIPTS.parent / ".ci" / "run").read_text(encoding="utf-8")
    assert "set -euo pipefail" in text
    assert "export CI=true" in text
    assert text.rstrip().endswith("make test")
    assert os.access(SCRIPTS.parent / ".ci" / "run", os.X_OK)
