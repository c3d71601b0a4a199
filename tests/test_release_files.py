"""What a release carries: licence, types, citation and changes, with one version."""

from __future__ import annotations

import re
import tomllib
from importlib import metadata, resources
from pathlib import Path

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def carried(name: str) -> str:
    return (resources.files("desalbook") / name).read_text(encoding="utf-8")


def test_licence_types_citation_and_changes_are_in_the_package():
    assert "WITHOUT WARRANTY OF ANY KIND" in carried("LICENSE") and carried("py.typed") == ""
    assert [ROOT / f for f in PROJECT["license-files"]] == [ROOT / "lib/desalbook/LICENSE"]


def test_one_version_everywhere():
    version = PROJECT["version"]
    assert metadata.version("desalbook") == version
    assert re.search(r"^version: (\S+)$", carried("CITATION.cff"), re.M)[1] == version
    assert re.search(r"^## (\d\S*?),", carried("CHANGES.md"), re.M)[1] == version


def test_the_notebooks_need_no_tools_of_tests():
    lab = " ".join(PROJECT["optional-dependencies"]["lab"])
    assert not re.search(r"pytest|playwright|ruff|pyright|hypothesis", lab)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert 'pip install -e ".[lab]" && desalbook lab' in readme and 'pip install -e ".[test]" && pytest' in readme
