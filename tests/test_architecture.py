"""The layers: imports go down only, and the planner reads nothing but its arguments and its data."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
LAYERS = ("planner", "scheduler", "bot")


def words(text: str) -> frozenset[str]:
    return frozenset(text.split())


#: What a layer must not import, by the first part of the name.
ABOVE = {"planner": {"scheduler", "bot"}, "scheduler": {"bot"}, "bot": set[str]()}

#: Libraries by which a clock, a file, a network, a process, chance or a database comes in.
OUTSIDE_WORLD = words(
    """
    aiosqlite alembic apscheduler asyncio glob http httpx io logging multiprocessing os pathlib
    platformdirs prometheus_client psycopg pydantic_settings random requests secrets shutil socket
    sqlalchemy sqlite3 ssl subprocess sys telegram tempfile threading time tornado tzlocal urllib
    uuid
    """
)

#: Parts of the interface of libraries that the program asks for: pydantic-settings, python-telegram-bot.
BROUGHT_ALONG = frozenset({"pydantic", "httpx", "tornado"})

#: The one module that reads the planner's own data files, and what it needs for that.
DATA_READER = "planner/sources.py"
DATA_READER_MAY = frozenset({"io"})

#: Calls that ask what time it is.
CLOCK_CALLS = words(
    """
    date.today datetime.date.today datetime.datetime.now datetime.datetime.today
    datetime.datetime.utcnow datetime.now datetime.today datetime.utcnow time.gmtime time.localtime
    time.time time.time_ns
    """
)

#: The one place that asks the machine for the time.
CLOCK = "scheduler/clock.py"

#: Functions of the libraries above that the planner may not reach in another way either.
READERS = frozenset({"open", "input", "print", "exec", "eval", "__import__"})


def modules(layer: str) -> list[Path]:
    found = sorted((ROOT / layer).rglob("*.py"))
    assert found, layer
    return found


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imports(module: ast.AST) -> Iterator[str]:
    """Full names of what is imported, at the top or inside a function."""
    for node in ast.walk(module):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative imports hide the layer"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def dotted(module: ast.AST) -> set[str]:
    """Dotted names that are called or handed on, as written."""
    return {ast.unparse(node) for node in ast.walk(module) if isinstance(node, ast.Attribute)}


def called(module: ast.AST) -> Iterator[ast.Call]:
    yield from (node for node in ast.walk(module) if isinstance(node, ast.Call))


def outside_world(module: ast.AST, may: frozenset[str] = frozenset()) -> set[str]:
    """What a planner module reaches that it must not."""
    libraries = {name.split(".")[0] for name in imports(module)} & (OUTSIDE_WORLD - may)
    readers = {ast.unparse(call.func) for call in called(module)} & READERS
    unseeded = {
        ast.unparse(call)
        for call in called(module)
        if ast.unparse(call.func).endswith("random.default_rng") and not call.args and not call.keywords
    }
    return libraries | readers | unseeded | (dotted(module) & CLOCK_CALLS)


@pytest.mark.parametrize("layer", LAYERS)
def test_imports_go_down_only(layer: str) -> None:
    wrong = [
        f"{named(path)} imports {name}"
        for path in modules(layer)
        for name in imports(tree(path))
        if name.split(".")[0] in ABOVE[layer]
    ]
    assert not wrong


def test_the_planner_reads_nothing_but_its_own_data() -> None:
    wrong = [
        f"{named(path)} uses {name}"
        for path in modules("planner")
        for name in outside_world(tree(path), DATA_READER_MAY if named(path) == DATA_READER else frozenset())
    ]
    assert not wrong


def test_one_module_asks_what_time_it_is() -> None:
    asking = {named(path) for layer in LAYERS for path in modules(layer) if dotted(tree(path)) & CLOCK_CALLS}
    assert asking == {CLOCK}


def test_no_layer_knows_a_messenger_but_the_messengers() -> None:
    knowing = [
        named(path)
        for layer in LAYERS
        for path in modules(layer)
        if "telegram" in {name.split(".")[0] for name in imports(tree(path))}
        and not named(path).startswith("bot/messengers/")
    ]
    assert not knowing


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("import os", "os"),
        ("def f():\n    import time", "time"),
        ("from datetime import datetime\nx = datetime.now()", "datetime.now"),
        ("import datetime\nx = [datetime.datetime.utcnow]", "datetime.datetime.utcnow"),
        ("open('x')", "open"),
        ("import numpy as np\nnp.random.default_rng()", "np.random.default_rng()"),
    ],
)
def test_the_check_sees_what_it_should(source: str, found: str) -> None:
    assert outside_world(ast.parse(source)) == {found}


def test_the_check_lets_pure_code_pass() -> None:
    pure = "import numpy as np\nfrom datetime import UTC\nnp.random.default_rng(7)\nwhen.astimezone(UTC)"
    assert outside_world(ast.parse(pure)) == set()


def test_the_program_needs_only_what_it_asks_for() -> None:
    """Whoever installs it without the tests has no library that only the tests name."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {_plain(re.split(r"[<>=\[; ]", line)[0]) for line in project["dependencies"]}
    owners = packages_distributions()
    needed = {name for layer in LAYERS for path in modules(layer) for name in _imported(path)}
    missing = {
        name for name in needed - set(sys.stdlib_module_names) - set(LAYERS) - BROUGHT_ALONG
        if not {_plain(owner) for owner in owners.get(name, [])} & declared
    }  # fmt: skip
    assert missing == set()


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _imported(path: Path) -> Iterator[str]:
    """First parts of all that a module imports, wherever in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.partition(".")[0]
