"""The docs keep up with the code: commands, links, sources; and no address of this workplace."""

import ast
import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from django.urls import get_resolver

from turnwell.cli.main import COMMANDS

ROOT = Path(__file__).resolve().parents[1]
DOCS = ROOT / "docs"
LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
KEY = re.compile(r"\[([A-Z][A-Z0-9-]{3,})\]")
# Package registries and machine paths, written so that this file does not hold them itself.
UNWANTED = re.compile(
    "|".join(["pypi" + r"\.org", "pythonhosted" + r"\.", "/wor" + "k/", "/opt/" + "pypi"])
)


def pages() -> list[Path]:
    return [ROOT / "README.md", ROOT / "ARCHITECTURE.md", *sorted(DOCS.rglob("*.md"))]


def sources() -> set[str]:
    """Give the keys of all sources: of methods, and of the catalogue's facts."""
    files = (DOCS / "references.toml", ROOT / "src/turnwell/catalogue/data/sources.toml")
    return {key for file in files for key in tomllib.loads(file.read_text(encoding="utf-8"))}


def tracked() -> list[Path]:
    """Give the files of the repository; all but what is ignored where there is no git."""
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split("\0")
    return [ROOT / name for name in listed if name and (ROOT / name).is_file()]


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_command_has_a_docs_entry(command: str):
    text = "".join(page.read_text(encoding="utf-8") for page in DOCS.rglob("*.md"))
    assert f"turnwell {command}" in text, f"`turnwell {command}` stands nowhere in docs/"


@pytest.mark.parametrize("page", pages(), ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path):
    targets = [target.split("#")[0] for target in LINK.findall(page.read_text(encoding="utf-8"))]
    broken = [
        target
        for target in targets
        if target and "://" not in target and not (page.parent / target).exists()
    ]
    assert not broken


def test_the_readme_leads_to_every_page_of_docs():
    linked = set(LINK.findall((ROOT / "README.md").read_text(encoding="utf-8")))
    assert {f"docs/{page.name}" for page in DOCS.glob("*.md")} <= linked


def test_the_floor_plan_names_every_place_of_the_page():
    apps = get_resolver().url_patterns
    places = {f"/{page.pattern}".split("/")[1] for app in apps for page in app.url_patterns}
    plan = (ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8")
    assert [place for place in sorted(places - {""}) if f"`/{place}/" not in plan] == []


def test_every_cited_source_is_listed():
    listed = sources()
    missing = {
        f"{key} ({path.relative_to(ROOT)})"
        for folder in ("src", "tests", "benchmarks")
        for path in (ROOT / folder).rglob("*.py")
        for key in _cited(path)
        if key not in listed
    }
    assert not missing, "in no list of sources: " + ", ".join(sorted(missing))


@pytest.mark.parametrize("page", pages(), ids=lambda page: str(page.relative_to(ROOT)))
def test_every_source_of_a_page_is_listed(page: Path):
    found = set(KEY.findall(page.read_text(encoding="utf-8")))
    assert {key for key in found - sources() if any(map(str.isdigit, key))} == set()


def _cited(path: Path) -> set[str]:
    """Give the keys in brackets in a file's docstrings and comments."""
    text = path.read_text(encoding="utf-8")
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    words = [
        ast.get_docstring(node) or ""
        for node in ast.walk(ast.parse(text))
        if isinstance(node, documented)
    ]
    words += [line.partition("#")[2] for line in text.splitlines() if "#" in line]
    return {key for part in words for key in KEY.findall(part) if any(map(str.isdigit, key))}


def test_no_file_names_a_registry_or_this_machine():
    wrong = []
    for path in tracked():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        wrong += [f"{path.relative_to(ROOT)}: {found}" for found in UNWANTED.findall(text)]
    assert not wrong, "\n".join(wrong)
