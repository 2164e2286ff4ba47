"""The hosted workflow, as far as it can be judged without its host: sound, and true to the project.

It never ran where this was written. The keys asked for are those of GitHub's workflow syntax (from
memory); PyYAML, which `distributed` brings along, reads the file.
"""

import itertools
import re
import shlex
import tomllib

import pytest

from tests.documents.reading import ROOT

yaml = pytest.importorskip("yaml")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture(scope="module")
def workflow():
    return yaml.safe_load((ROOT / ".github" / "workflows" / "ci.yml").read_text(encoding="utf-8"))


def commands(job):
    return [step["run"] for step in job["steps"] if "run" in step]


def pythons(job):
    """The versions a job runs on, a matrix's or the one that is named."""
    (wanted,) = [step["with"]["python-version"] for step in job["steps"] if "with" in step]
    listed = job.get("strategy", {}).get("matrix", {}).get("python", [])
    return listed if "matrix.python" in wanted else [wanted]


def test_it_has_what_a_workflow_needs(workflow):
    # YAML 1.1 takes the word 'on' for true.
    assert {"push", "pull_request", "schedule"} <= set(workflow[True])
    assert workflow["permissions"] == {"contents": "read"}
    for job in workflow["jobs"].values():
        assert {"runs-on", "timeout-minutes", "steps"} <= set(job)
        assert all(("uses" in step) != ("run" in step) for step in job["steps"])
        named = re.findall(r"matrix\.(\w+)", yaml.dump(job))
        assert set(named) == set(job.get("strategy", {}).get("matrix", {}))


def test_every_push_runs_what_a_developer_runs(workflow):
    assert commands(workflow["jobs"]["run"]) == [".ci/run"]
    mode = (ROOT / ".ci" / "run").stat().st_mode
    assert mode & 0o111, ".ci/run cannot be executed"


def test_the_oldest_python_allowed_is_among_those_run(workflow):
    oldest = PROJECT["requires-python"].removeprefix(">=")
    for name, job in workflow["jobs"].items():
        versions = pythons(job)
        assert oldest in versions, name
        assert all(isinstance(version, str) for version in versions), "3.10 would be 3.1"
        assert all(tuple(map(int, v.split("."))) >= tuple(map(int, oldest.split(".")))
                   for v in versions)  # fmt: skip


def test_its_commands_exist(workflow):
    """Extras that are installed, modules that are run, files and options that are named."""
    for job in workflow["jobs"].values():
        forms = job.get("strategy", {}).get("matrix", {}).get("form", [])
        for command in [*commands(job), *forms]:
            for extra in re.findall(r"\.\[([\w,]+)\]", command):
                assert set(extra.split(",")) <= set(PROJECT["optional-dependencies"])
            words = shlex.split(command)
            modules = [b for a, b in itertools.pairwise(words) if a == "-m"]
            own = [name for name in modules if name.startswith("tests.")]
            assert all((ROOT / f"{name.replace('.', '/')}.py").is_file() for name in own)
            assert all((ROOT / word).exists() for word in words if word.startswith("tests/"))
            source = "".join((ROOT / f"{n.replace('.', '/')}.py").read_text() for n in own)
            options = [word for word in words if own and word.startswith("--")]
            assert all(f'"{option}"' in source for option in options)
