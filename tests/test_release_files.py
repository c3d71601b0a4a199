"""What a release carries: licence, types, citation and changes, with one version."""

from __future__ import annotations

import re
import shlex
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


README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.S)


def test_the_readme_is_one_screen_with_its_picture():
    assert len(README.splitlines()) <= 60
    pictures = re.findall(r'(?:src|srcset)="([^"]+)"', README)
    assert len(pictures) == 2 and all((ROOT / p).is_file() for p in pictures)
    for number in sorted({p.name[:2] for p in (ROOT / "notebooks").glob("*.ipynb")}):
        assert re.search(rf"`{number}[-`]", README) or "01" <= number <= "07", f"notebook {number} is not listed"


def test_the_readme_says_how_long_and_what_is_missing():
    install, tests, terminal = blocks("sh")
    assert re.search("# .*minutes", install) and re.search("# .*minutes", tests)
    assert "Windows on ARM" in README and "phreeqc" in README and len(terminal.strip().splitlines()) == 3


def test_the_lines_of_the_readme_run(tmp_path, monkeypatch, capsys):
    from desalbook import cli

    (python,) = blocks("python")
    assert len(python.strip().splitlines()) == 5
    monkeypatch.chdir(ROOT)
    exec(python, {})
    assert "m/h" in capsys.readouterr().out
    for line in blocks("sh")[2].strip().splitlines():
        words = shlex.split(line.partition("#")[0])
        assert words.pop(0) == "desalbook"
        cli._parser().parse_args(words)


def test_the_picture_of_the_readme_names_the_steps_of_the_plant():
    from tests import make_picture

    def steps(svg: str) -> list[str]:
        return re.findall(r">([A-Za-z][A-Za-z -]+)<", svg)

    for ground, path in make_picture.FILES.items():
        assert steps(path.read_text(encoding="utf-8")) == steps(make_picture.drawn(ground))


def test_the_wheel_carries_licence_types_and_what_the_notebooks_need(tmp_path):
    """What the build program would put into the wheel, without building it."""
    assert PROJECT["license"] == "MIT"
    build = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]["targets"]
    assert build["wheel"]["packages"] == ["lib/desalbook"]
    assert {"notebooks", "data-demo"} <= build["wheel"]["force-include"].keys()
    for name in ("LICENSE", "py.typed", "CHANGES.md", "CITATION.cff"):
        assert (ROOT / "lib/desalbook" / name).is_file()


def test_clusters_are_an_extra_of_their_own():
    extras = PROJECT["optional-dependencies"]
    assert {"dask", "distributed", "pyarrow"} == {re.split(r"\W", one)[0] for one in extras["cluster"]}
    assert not re.search("dask|distributed|pyarrow", " ".join([*PROJECT["dependencies"], *extras["lab"]]))


def test_the_stories_of_extending_are_short():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    stories = re.findall(r"(?m)^## How to add ([^\n]+)\n(.*?)(?=^## |\Z)", text, re.S)
    assert len(stories) >= 5
    for name, story in stories:
        assert len([line for line in story.splitlines() if line.strip()]) <= 12, name
