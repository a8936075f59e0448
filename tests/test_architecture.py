import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "mockcheck"
ORDER = [
    {"errors", "units", "params"},
    {"model"},
    {"instruments"},
    {"read"},
    {"playing"},
    {"infer"},
    {"checks"},
    {"config"},
    {"plan"},
    {"grade"},
    {"notation"},
    {"export"},
    {"plots"},
    {"report"},
    {"pipeline"},
    {"archive"},
    {"web"},
    {"cli"},
]
RANK = {room: rank for rank, rooms in enumerate(ORDER) for room in rooms}
MODULES = sorted(PACKAGE.rglob("*.py"))
LONGEST_FILE, LONGEST_FUNCTION = 400, 60
BANNED = {"utils", "helpers", "common", "misc"}


def room_of(module: Path) -> str:
    return module.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported_rooms(module: Path) -> set[str]:
    rooms = set()
    for node in ast.walk(ast.parse(module.read_text())):
        names = []
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: relative import"
            names = [node.module or ""]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        rooms |= {name.split(".")[1] for name in names if name.startswith("mockcheck.")}
    return rooms


def imported_modules(module: Path) -> set[Path]:
    """Files of the package that a module imports from, wherever in it the import stands."""
    found = set()
    for node in ast.walk(ast.parse(module.read_text())):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("mockcheck"):
            path = ROOT.joinpath(*(node.module or "").split("."))
            for target in (path.with_suffix(".py"), *(path / f"{a.name}.py" for a in node.names)):
                found |= {target} if target.exists() else set()
    return found


def test_no_module_imports_one_that_imports_it() -> None:
    # A package's own front lists what is in it, and is no part of the data flow.
    graph = {m: imported_modules(m) for m in MODULES if m.name != "__init__.py"}
    assert len(list(TopologicalSorter(graph).static_order())) == len(graph)


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_one_way(module: Path) -> None:
    room = room_of(module)
    if room in {"__init__", "__main__"}:
        return
    for imported in imported_rooms(module) - {room}:
        assert RANK[imported] <= RANK[room], f"{room} must not import {imported}"


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_and_functions_stay_short(module: Path) -> None:
    text = module.read_text()
    assert text.count("\n") <= LONGEST_FILE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            assert (node.end_lineno or 0) - node.lineno < LONGEST_FUNCTION, node.name


def test_no_file_is_a_drawer_for_odds_and_ends() -> None:
    assert not [path for path in MODULES if path.stem in BANNED]


def test_every_public_module_has_a_test_of_its_name() -> None:
    missing = []
    for module in MODULES:
        inside = module.relative_to(PACKAGE)
        if inside.stem.startswith("_"):
            continue
        if not (ROOT / "tests" / inside.parent / f"test_{inside.name}").exists():
            missing.append(str(inside))
    assert not missing


def test_every_module_and_public_function_says_what_it_is() -> None:
    silent = []
    for module in MODULES:
        tree = ast.parse(module.read_text())
        if ast.get_docstring(tree) is None:
            silent.append(str(module.relative_to(PACKAGE)))
    assert not silent
