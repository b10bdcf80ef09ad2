"""Imports run downward only: the floor plan of ARCHITECTURE.md, held by reading every import."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "src" / "turnwell"

GROUND = ("errors", "units", "words", "measure")
CORES = ("sound", "cause", "steam", "life", "flow", "air")
WORLD = ("django", "socket", "urllib", "http", "requests", "subprocess", "random", "time")
CLOCKS = {("datetime", "now"), ("datetime", "today"), ("datetime", "utcnow"), ("date", "today")}

# What each room may import of ours, besides itself.
MAY_IMPORT: dict[str, tuple[str, ...]] = {
    "errors": (),
    "units": ("errors",),
    "words": ("errors", "units"),
    "measure": ("errors", "units", "words"),
    "fonts": (),
    "catalogue": GROUND,
    **dict.fromkeys(CORES, GROUND),
    # The types of the rows it is given; that it loads none is held below.
    "cause": (*GROUND, "catalogue"),
    "pictures": (*GROUND, "fonts"),
    "papers": (*GROUND, "fonts", "pictures"),
    "web": (*GROUND, "fonts", "catalogue", *CORES, "pictures", "papers"),
    "demo": (*GROUND, "fonts", "catalogue", *CORES, "pictures", "papers", "web"),
    "cli": (*GROUND, "fonts", "catalogue", *CORES, "pictures", "papers", "web", "demo"),
}


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def sources() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE) + [
        PACKAGE / f"{name}.py" for name in ("errors", "units", "fonts") if _is_file(name)
    ]


def _is_file(name: str) -> bool:
    return (PACKAGE / f"{name}.py").is_file()


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Give line and full name of everything a file imports, wherever it does."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno} imports relatively"
            yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)


def ours(name: str) -> str | None:
    """Give the room that an import of ours reaches into."""
    parts = name.split(".")
    if parts[0] != "turnwell" or len(parts) < 2 or parts[1].startswith("__"):
        return None
    return parts[1]


@pytest.mark.parametrize("path", sources(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_run_downward(path: Path):
    room = room_of(path)
    allowed = {room, *MAY_IMPORT[room]}
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for line, name in imports(path)
        if (reached := ours(name)) is not None and reached not in allowed
    ]
    assert not wrong, "\n".join(wrong)


def test_no_core_loads_the_catalogue():
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for core in CORES
        for path in (PACKAGE / core).rglob("*.py")
        for line, name in imports(path)
        if name.startswith("turnwell.catalogue") and "load" in name
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("core", [core for core in CORES if (PACKAGE / core).is_dir()])
def test_a_core_knows_no_page_network_clock_or_chance(core: str):
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {name}"
        for path in (PACKAGE / core).rglob("*.py")
        for line, name in imports(path)
        if name.split(".")[0] in WORLD
    ]
    wrong += [
        f"{path.relative_to(ROOT)}:{node.lineno} asks the clock"
        for path in (PACKAGE / core).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and (node.value.id, node.attr) in CLOCKS
    ]
    assert not wrong, "\n".join(wrong)


def test_cores_are_called_only_in_analysis_cli_and_demo():
    """Beside the ``analysis`` of an app, pages may name a core's types, but not through a view."""
    wrong = []
    for path in (PACKAGE / "web").rglob("*.py"):
        parts = path.relative_to(PACKAGE / "web").parts
        if any(part.startswith("analysis") for part in parts) or parts[0] == "running":
            continue
        wrong += [
            f"{path.relative_to(ROOT)}:{line} imports {name}"
            for line, name in imports(path)
            if ours(name) in CORES and ("views" in parts or parts[-1] in {"views.py", "forms.py"})
        ]
    assert not wrong, "\n".join(wrong)


def test_a_subcommand_is_imported_only_when_it_is_run():
    """``turnwell --help`` pays for no package of others."""
    quick = {"argparse", "os", "sys", "collections", "importlib", "turnwell"}
    found = {name.split(".")[0] for _, name in imports(PACKAGE / "cli" / "main.py")}
    assert found <= quick


def test_every_room_has_its_floor():
    rooms = {path.name for path in PACKAGE.iterdir() if (path / "__init__.py").is_file()}
    assert rooms <= set(MAY_IMPORT), "a new room needs a place in the floor plan"


def test_a_broken_floor_is_seen(tmp_path: Path):
    file = tmp_path / "core.py"
    file.write_text("def f():\n    from turnwell.web.jobs import models\n    import django.db\n")
    found = list(imports(file))
    assert (2, "turnwell.web.jobs.models") in found
    assert ours("turnwell.web.jobs.models") == "web"
    assert (3, "django.db") in found
