"""Rules of the house that no other tool checks: words in the README, variables, paths, sizes, one door to the stock."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("finishing", "inventory", "costing")
ENVIRONMENT = re.compile(r"\b(?:FINISH_LEDGER_[A-Z][A-Z_]*[A-Z]|DATABASE_URL)\b")

# Handed from one process of ours to the next; nobody sets them by hand, so no page for people lists them.
INTERNAL_VARIABLES = {
    "FINISH_LEDGER_RESTARTED": "set-up to itself, across its one restart",
    "FINISH_LEDGER_TEST_COUNTS": "the test runner to pytest",
}
# Who may look at the environment. Everything else asks ``django.conf.settings``.
READERS = {
    "finishing/env.py": "the readers that settings use",
    "finishing/bootstrap.py": "runs before there are settings",
    "finishing/wsgi.py": "names the settings module",
    "finishing/testing/": "runs the tests in processes of their own",
}
MAX_LINES = 400
LONGER_FILES: dict[str, str] = {}  # path: the reason why it is better in one piece


@cache
def tracked() -> tuple[Path, ...]:
    """The files of the project, as git lists them; in an unpacked archive, all that is not made by tools."""
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode == 0 and done.stdout:
        listed = [ROOT / name for name in done.stdout.split("\0") if name]
        return tuple(path for path in listed if path.is_file())
    made = {".venv", "var", ".git", "__pycache__"}
    return tuple(path for path in ROOT.rglob("*") if path.is_file() and not made & set(path.parts))


def texts() -> Iterator[tuple[str, str]]:
    """Name and content of every text file of the project."""
    for path in tracked():
        try:
            yield path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


def sources(*folders: str) -> Iterator[tuple[str, str]]:
    """Python files below the named packages, without generated migrations."""
    for name, text in texts():
        if name.endswith(".py") and name.split("/")[0] in folders and "/migrations/" not in name:
            yield name, text


def documentation() -> str:
    return "".join((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md"))


def test_the_rules_see_the_project() -> None:
    names = {name for name, _ in texts()}
    assert {"manage.py", "pyproject.toml", "finishing/env.py"} <= names


def test_the_readme_opens_with_one_paragraph_about_the_job() -> None:
    blocks = (ROOT / "README.md").read_text(encoding="utf-8").strip().split("\n\n")
    assert blocks[0] == "# Finish Ledger"
    opening = blocks[1]
    assert not re.match(r"[#*\-|>`!\[\d]", opening), "a paragraph, not a list, picture, table or code"
    assert 25 <= len(opening.split()) <= 160
    assert re.search(r"finish", opening, re.IGNORECASE)
    assert re.search(r"\b(material|lot|stock|inventory)", opening, re.IGNORECASE)
    assert re.search(r"\b(job|cost|quote|estimate)", opening, re.IGNORECASE)


def test_the_readme_names_the_two_commands() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert "python3 manage.py demo" in readme
    assert "python3 manage.py test" in readme


def test_every_environment_variable_is_documented() -> None:
    read = {name for _, text in sources(*PACKAGES) for name in ENVIRONMENT.findall(text)}
    missing = sorted(read - set(INTERNAL_VARIABLES) - set(ENVIRONMENT.findall(documentation())))
    assert not missing, f"README.md or DEVELOPERS.md must explain {', '.join(missing)}"


def test_every_documented_environment_variable_is_read_somewhere() -> None:
    read = {name for _, text in sources(*PACKAGES) for name in ENVIRONMENT.findall(text)}
    unknown = sorted(set(ENVIRONMENT.findall(documentation())) - read)
    assert not unknown, f"nothing reads {', '.join(unknown)}"


def test_only_settings_read_the_environment() -> None:
    reading = [
        name
        for name, text in sources(*PACKAGES)
        if re.search(r"\bos\.(environ|getenv)\b|from os import .*\b(environ|getenv)\b", text)
        and not any(name.startswith(allowed) for allowed in READERS)
    ]
    assert not reading


# Written in parts, so that this file does not hold what it looks for.
PLACES = tuple(
    re.compile(pattern)
    for pattern in (
        r"(?<![\w.$}~-])/(?:ro" + r"ot|wo" + r"rk/(?:main|shared|notes)|ho" + r"me/\w+|Us" + r"ers/\w+)\b",
        r"\b[A-Z]:\\\\?Us" + r"ers",
        r"/opt/(?:py" + r"pi|wh" + r"eels)",
        r"py" + r"pi\.org|python" + r"hosted\.org|registry\.npm" + r"js|deb\.deb" + r"ian\.org|proxy\.gol" + r"ang",
        r"--(?:extra-)?index-u" + r"rl|--find-li" + r"nks|--trusted-h" + r"ost",
    )
)


def offences(text: str) -> list[str]:
    """The machine paths and registry hosts in a text."""
    return [match.group() for pattern in PLACES for match in pattern.finditer(text)]


def test_no_file_names_a_machines_path_or_a_registry() -> None:
    found = {name: hits for name, text in texts() if (hits := offences(text))}
    assert not found


@pytest.mark.parametrize(
    "planted", ["/ro" + "ot/x", '"/ho' + 'me/ann/ledger"', "https://py" + "pi.org/simple", "C:\\Us" + "ers\\ann"]
)
def test_a_planted_path_would_be_found(planted: str) -> None:
    assert offences(f"see {planted} for more")


@pytest.mark.parametrize(
    "innocent", ["the shop's root/leaf", "/homepage/", "{% url 'work' %}", "var/work/x", "http://host/work-orders"]
)
def test_ordinary_words_are_no_paths(innocent: str) -> None:
    assert not offences(innocent)


def test_no_file_grows_too_long() -> None:
    long = {name: text.count("\n") for name, text in sources(*PACKAGES) if text.count("\n") > MAX_LINES}
    assert set(long) == set(LONGER_FILES), f"split these, or give a reason in LONGER_FILES: {long}"


INLINE = re.compile(
    r"<style\b|\sstyle\s*=\s*[\"'{]|<script\b(?![^>]*\bsrc=)|\son[a-z]+\s*=\s*[\"']|javascript:|\bhx-on\b", re.IGNORECASE
)


def test_no_page_holds_a_script_or_a_style_of_its_own() -> None:
    found = {
        name: INLINE.findall(text)
        for name, text in texts()
        if (name.endswith((".html", ".svg")) or (name.endswith(".py") and name.split("/")[0] in PACKAGES))
        and INLINE.search(_without_python_keywords(name, text))
    }
    assert not found, "the content policy refuses these"


def _without_python_keywords(name: str, text: str) -> str:
    """In Python only string literals can become part of a page; ``style=`` elsewhere is a keyword of a call."""
    if not name.endswith(".py"):
        return text
    constants = (node.value for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Constant))
    return "\n".join(value for value in constants if isinstance(value, str))


@pytest.mark.parametrize(
    "planted",
    ['<p style="color:red">', "<script>go()</script>", "<style>p{}</style>", '<a onclick="go()">', '<a href="javascript:go()">'],
)
def test_a_planted_script_or_style_would_be_found(planted: str) -> None:
    assert INLINE.search(planted)
    assert not INLINE.search('<script src="/static/house.js" defer></script><link rel="stylesheet" href="x.css">')


# The ledger service is the one door through which stock changes.
THE_DOOR = "inventory/services/ledger.py"
LEDGER_MODELS = {"Movement", "Posting"}
WRITING = {"create", "bulk_create", "get_or_create", "update_or_create", "update", "bulk_update", "delete", "save", "_raw_delete"}
LOT_WRITING = {"create", "get_or_create", "update_or_create", "update", "Lot"}


def stock_writes(source: str) -> list[int]:
    """Lines of a Python source that would write a posting, a movement or a lot's balance."""
    return [node.lineno for node in ast.walk(ast.parse(source)) if isinstance(node, ast.stmt | ast.expr) and _writes(node)]


def _writes(node: ast.AST) -> bool:
    if isinstance(node, ast.Assign | ast.AugAssign | ast.AnnAssign):
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        return any(isinstance(target, ast.Attribute) and target.attr == "on_hand" and not _own(target) for target in targets)
    if not isinstance(node, ast.Call):
        return False
    called = node.func
    name = called.attr if isinstance(called, ast.Attribute) else called.id if isinstance(called, ast.Name) else ""
    if name in LEDGER_MODELS:
        return True
    if name in WRITING and LEDGER_MODELS & {part.id for part in ast.walk(called) if isinstance(part, ast.Name)}:
        return True
    if name in WRITING and {"movements", "postings"} & {
        part.attr for part in ast.walk(called) if isinstance(part, ast.Attribute)
    }:
        return True
    return name in LOT_WRITING and any(keyword.arg == "on_hand" for keyword in node.keywords)


def _own(target: ast.Attribute) -> bool:
    """``self.on_hand``: a sum that some object keeps of its own. Models may not do even that, see below."""
    return isinstance(target.value, ast.Name) and target.value.id == "self"


def test_no_model_writes_its_own_balance() -> None:
    writing = re.compile(r"\bself\.on_hand\s*(?:[-+*/]?=)(?!=)")
    models = [(name, text) for name, text in sources(*PACKAGES) if "/models" in name]
    assert models
    assert writing.search("self.on_hand -= 1")
    assert not [name for name, text in models if writing.search(text)]


def test_stock_changes_through_one_door_only() -> None:
    found = {name: lines for name, text in sources(*PACKAGES) if name != THE_DOOR and (lines := stock_writes(text))}
    assert not found


def test_the_door_itself_would_be_found_by_the_same_search() -> None:
    assert stock_writes((ROOT / THE_DOOR).read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "planted",
    [
        "lot.on_hand -= 1",
        "lot.on_hand = F('on_hand') - 1",
        "Lot.objects.filter(pk=1).update(on_hand=3)",
        "Lot(material=m, on_hand=3)",
        "Movement(lot=lot)",
        "models.Posting(key=k)",
        "Movement.objects.filter(lot=lot).delete()",
        "Movement.objects.bulk_create(rows)",
        "lot.movements.create(quantity=1)",
    ],
)
def test_a_planted_side_door_would_be_found(planted: str) -> None:
    assert stock_writes(planted) == [1]


@pytest.mark.parametrize(
    "innocent",
    [
        "Lot.objects.filter(on_hand__gt=0)",
        "LotView(lot_id=1, on_hand=3)",
        "x = lot.on_hand",
        "Movement.objects.filter(lot=lot).count()",
    ],
)
def test_reading_stock_is_free(innocent: str) -> None:
    assert stock_writes(innocent) == []


CORE = ("inventory/core/", "costing/core/", "finishing/units.py", "finishing/money.py")
CLOCKS = {"now", "today", "utcnow", "time", "monotonic", "perf_counter"}


def test_the_arithmetic_reads_no_clock_and_no_chance() -> None:
    found: dict[str, list[str]] = {}
    for name, text in sources(*PACKAGES):
        if not name.startswith(CORE):
            continue
        tree = ast.parse(text)
        calls = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
        hits = [call.attr for call in calls if isinstance(call, ast.Attribute) and call.attr in CLOCKS]
        # A generator with a given seed is arithmetic; the module's own functions are chance.
        hits += [
            f"random.{call.attr}"
            for call in calls
            if isinstance(call, ast.Attribute)
            and isinstance(call.value, ast.Name)
            and call.value.id == "random"
            and call.attr != "Random"
        ]
        hits += [call.id for call in calls if isinstance(call, ast.Name) and call.id in {"open", "input", "print"}]
        if hits:
            found[name] = hits
    assert not found
