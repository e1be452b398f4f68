"""The pages for people hold what the code promises of them."""

import ast
import re
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import resolve, reverse

from coop.api import problems
from coop.api.problems import TYPE_PREFIX, InvalidInput, problem_response
from coop.docs.views import FOLDER
from properties.land.settings import registered_groups
from scheduling.rules.catalogue import RULES

PAGES = sorted(path.stem for path in FOLDER.glob("*.md"))
FLOORS = ("coop", "properties", "scrapes", "scheduling")


def address(name: str) -> str:
    return reverse("docs") if name == "index" else reverse("docs-page", args=[name])


class _Page(HTMLParser):
    """Links and anchors of a rendered page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.anchors: set[str] = set()
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if tag in ("a", "img"):
            self.links.append(named.get("href") or named.get("src") or "")
        if named.get("id"):
            self.anchors.add(str(named["id"]))


@lru_cache
def parsed(address: str) -> _Page:
    answer = Client().get(address)
    assert answer.status_code == 200, address
    return _Page(answer.content.decode())


def source_trees() -> list[ast.Module]:
    root = Path(settings.BASE_DIR)
    return [
        ast.parse(path.read_text(encoding="utf-8"))
        for floor in FLOORS
        for path in sorted((root / floor).rglob("*.py"))
    ]


def problem_classes(trees: list[ast.Module]) -> dict[str, ast.ClassDef]:
    """Problem and every class below it, by name."""
    classes = [node for tree in trees for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]
    found = {node.name: node for node in classes if node.name == "Problem"}
    while more := {
        node.name: node
        for node in classes
        if node.name not in found
        and any(isinstance(base, ast.Name) and base.id in found for base in node.bases)
    }:
        found |= more
    return found


@lru_cache
def codes_in_the_code() -> frozenset[str]:
    """Codes of problem classes, codes passed to one, and those of the framework's statuses."""
    trees = source_trees()
    classes = problem_classes(trees)
    codes = set()
    for node in classes.values():
        for statement in node.body:
            if isinstance(statement, ast.Assign):
                targets = statement.targets
            elif isinstance(statement, ast.AnnAssign):
                targets = [statement.target]
            else:
                continue
            if any(isinstance(target, ast.Name) and target.id == "code" for target in targets):
                assert isinstance(statement.value, ast.Constant)
                codes.add(statement.value.value)
    for tree in trees:
        for call in ast.walk(tree):
            if not (isinstance(call, ast.Call) and isinstance(call.func, ast.Name)):
                continue
            if call.func.id in classes:
                codes |= {
                    word.value.value
                    for word in call.keywords
                    if word.arg == "code" and isinstance(word.value, ast.Constant)
                }
    of_statuses = {code for code, _title in problems._CODES.values()}
    return frozenset(codes | of_statuses | {"error"})


def test_every_code_of_the_api_has_its_heading_and_no_heading_is_left_over():
    text = (FOLDER / "problems.md").read_text(encoding="utf-8")
    headings = re.findall(r"^## (.+)$", text, flags=re.MULTILINE)
    assert len(headings) == len(set(headings))
    assert set(headings) == codes_in_the_code()


def test_every_code_stands_once_in_the_table_by_status_with_the_status_under_its_heading():
    text = (FOLDER / "problems.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (\d[\d, ]+|any other) \| (.+) \|$", text, flags=re.MULTILINE)
    told = [(code, row) for row, codes in rows for code in re.findall(r"\(#(\w+)\)", codes)]
    under = dict(re.findall(r"^## (\w+)\n\n\*\*(.+?)\*\*", text, flags=re.MULTILINE))

    assert sorted(code for code, _row in told) == sorted(codes_in_the_code())
    for code, row in told:
        if code != "error":
            assert under[code].rstrip(".") in row.split(", "), code


def test_no_code_is_handed_to_the_title_of_all_conflicts_that_has_a_title_of_its_own():
    classes = problem_classes(source_trees())
    handed = {
        word.value.value
        for tree in source_trees()
        for call in ast.walk(tree)
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Name)
        and call.func.id in classes
        for word in call.keywords
        if word.arg == "code" and isinstance(word.value, ast.Constant)
    }
    own = {
        statement.value.value
        for node in classes.values()
        for statement in node.body
        if isinstance(statement, ast.Assign) and isinstance(statement.value, ast.Constant)
    }

    assert "already_exists" in handed
    assert not handed & own


def test_the_search_for_codes_finds_classes_calls_and_statuses():
    assert {"seat_taken", "camera_is_hanging", "not_signed_in"} <= codes_in_the_code()


def test_the_type_of_a_problem_leads_to_the_heading_of_its_code():
    anchors = parsed(TYPE_PREFIX.rstrip("#")).anchors
    assert codes_in_the_code() <= anchors
    kind = problem_response(InvalidInput("Not a date.")).data["type"]
    assert kind.partition("#")[2] in anchors


@pytest.mark.parametrize("name", PAGES)
def test_a_page_renders_under_its_own_title(name):
    answer = Client().get(address(name))
    title = (FOLDER / f"{name}.md").read_text(encoding="utf-8").splitlines()[0].lstrip("# ")
    assert answer.status_code == 200
    html = answer.content.decode()
    assert "<h1" in html
    assert title.split("`")[0][:20] in html


@pytest.mark.parametrize("name", PAGES)
def test_no_table_or_block_of_code_is_left_as_marks(name):
    html = Client().get(address(name)).content.decode()
    assert "|---" not in html
    assert "```" not in html


@pytest.mark.parametrize("name", PAGES)
def test_every_link_inside_the_server_leads_somewhere(name):
    page = parsed(address(name))
    for link in page.links:
        if link.startswith(("http:", "https:", "mailto:")):
            continue
        target, _, anchor = link.partition("#")
        if target.startswith("/api/"):
            assert resolve(target).func is not None
            continue
        there = parsed(target) if target else page
        assert not anchor or anchor in there.anchors, f"{name}: {link}"


def test_the_first_page_leads_to_every_other():
    links = set(parsed(address("index")).links)
    assert {address(name) for name in PAGES if name != "index"} <= links
    assert {reverse("api-explorer"), reverse("api-reference")} <= links


def test_an_unknown_page_is_not_found():
    assert Client().get("/docs/nothing-of-this-name/").status_code == 404


def _row_of(code: str, text: str) -> str:
    return next((line for line in text.splitlines() if line.startswith(f"| `{code}`")), "")


@pytest.mark.parametrize(
    ("rule", "code", "may_overrule"),
    [(rule, o.code, o.overrulable) for rule in RULES for o in rule.objections],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_the_page_of_the_rules_says_of_each_objection_what_the_code_does(rule, code, may_overrule):
    row = _row_of(code, (FOLDER / "rules.md").read_text(encoding="utf-8"))
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    applies = {"both": "both", "booking": "booking only", "planning": "plan only"}
    assert cells[2] == applies[rule.applies_to.value]
    assert cells[3] == ("yes" if may_overrule else "no")


@pytest.mark.parametrize("name", sorted({name for rule in RULES for name in rule.settings}))
def test_the_page_of_the_rules_gives_each_setting_as_it_stands(name):
    row = _row_of(name, (FOLDER / "rules.md").read_text(encoding="utf-8"))
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    assert cells[1:4] == _shown(name)


def _shown(name: str) -> list[str]:
    """Default, least and greatest value of a setting, as the page writes them."""
    group, _, field_name = name.partition("/")
    fields = registered_groups()[group].__dataclass_fields__
    field = fields[field_name]
    bounds = [field.metadata.get(key) for key in ("minimum", "maximum")]
    return [_word(field.default), *("" if bound is None else _word(bound) for bound in bounds)]


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or "none"
    return f"{value:g}"


def test_the_page_of_deployment_names_every_variable_that_the_settings_read():
    source = (Path(settings.BASE_DIR) / "coop" / "settings.py").read_text(encoding="utf-8")
    text = (FOLDER / "deployment.md").read_text(encoding="utf-8")
    read = set(re.findall(r'"(COOP_[A-Z_]+)"', source))
    assert read == set(re.findall(r"^\| `(COOP_[A-Z_]+)`", text, flags=re.MULTILINE))


def test_a_picture_is_served_as_one_and_nothing_else_of_the_folder_is():
    (name, *_rest) = sorted(path.name for path in (FOLDER / "images").glob("*.svg"))
    answer = Client().get(f"/docs/images/{name}")
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
    for other in ("nothing.svg", "landowners-month.png", "..%2Frotation.md"):
        assert Client().get(f"/docs/images/{other}").status_code == 404


def test_every_test_that_the_page_of_security_names_exists():
    text = (FOLDER / "security.md").read_text(encoding="utf-8")
    named = re.findall(r"`(tests/[\w/]+\.py)::(test_\w+)`", text)
    assert len(named) > 20
    for path, test in named:
        source = (Path(settings.BASE_DIR) / path).read_text(encoding="utf-8")
        assert f"def {test}(" in source, f"{path}::{test}"
