"""What the registry refuses, and what every declaration must hold."""

from __future__ import annotations

import subprocess
import sys

import pytest

from xlfuncs.catalogue import registry
from xlfuncs.catalogue.declaration import (
    FUNCTIONS,
    TOPICS,
    Arg,
    LookedUp,
    Result,
    worksheet_function,
)
from xlfuncs.catalogue.parts_of_a_declaration import tables_of_results
from xlfuncs.catalogue.registry import declared_in, find, functions
from xlfuncs.catalogue.reserved_names import objection
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.errors import DeclarationError


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("AB12", "cell address"),
        ("R1C1", "cell address"),
        ("XFD1048576", "cell address"),
        ("PROPERTY", "keyword"),
        ("SEQUENCE", "keyword"),
        ("SUM", "built-in"),
        ("XLOOKUP", "built-in"),
        ("EASTERSUNDAY", "built-in"),  # LibreOffice only
        ("bed_area", "capital"),
        ("1BED", "capital"),
    ],
)
def test_reserved_names_are_refused(name: str, words: str) -> None:
    assert words in objection(name)


def _declare(name: str = "TEST_ONLY", **changes: object) -> None:
    given: dict[str, object] = {
        "topic": "flow",
        "help": "x",
        "args": (Arg("length", "length", "x"),),
        "results": (Result("length", "length", "x"),),
        "source": DEFINITION.at(),
    }
    worksheet_function(name, **(given | changes))(lambda length: length)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"help": "x" * 256}, "over 255"),
        ({"args": (Arg("length", "length", "y" * 256),)}, "over 255"),
        ({"args": (Arg("length", "furlongs", "x"),)}, "no dimension"),
        ({"args": (Arg("Length", "length", "x"),)}, "lower-case"),
        ({"args": (Arg("a", "length", "x", 1), Arg("b", "length", "x"))}, "required argument"),
        ({"args": (Arg("a", "length", "x", group="beds"),), "elementwise": True}, "no groups"),
        ({"rows": "beds"}, "no argument names"),
        ({"name": "BED_AREA"}, "declared twice"),
        ({"topic": "gardens"}, "no topic"),
        ({"results": ()}, "no result"),
        ({"name": "A1"}, "cell address"),
    ],
)
def test_faulty_declarations_are_refused(changes: dict[str, object], words: str) -> None:
    assert functions()["BED_AREA"]
    with pytest.raises(DeclarationError, match=words):
        _declare(**changes)
    assert "TEST_ONLY" not in FUNCTIONS


@pytest.mark.parametrize("function", functions().values(), ids=list(functions()))
def test_every_declaration_is_complete(function: object) -> None:
    f = function
    assert f.topic in TOPICS  # type: ignore[attr-defined]
    assert f.source.source  # type: ignore[attr-defined]
    assert f.examples, "an example is shown in the help"  # type: ignore[attr-defined]
    if not f.variadic:  # type: ignore[attr-defined]
        assert "units" in {arg.name for arg in f.args}  # type: ignore[attr-defined]


def test_an_argument_is_read_as_it_is_written() -> None:
    text = "[gap=0.3 m]: length, >0, <=5 m, of beds, column way, from lines.line.gap: To: the head"
    assert Arg.of(text, divides=True) == Arg(
        "gap", "length", "To: the head (default 0.3 m)", "0.3 m", above=0, maximum="5 m",
        divides=True, group="beds", column="way", looked_up=LookedUp("lines", "line", "gap"),
    )  # fmt: skip
    assert Arg.of("n: count, >=1, <9, whole: How many") == Arg(
        "n", "count", "How many", minimum=1, below=9, whole=True
    )
    assert Arg.of("[on=yes]: flag: Whether it is on (default, as usual)").default is True
    assert Arg.of("[end]: date: Last day").default is None
    assert Arg.of("[word=]: text: A word") == Arg("word", "text", "A word", "")


@pytest.mark.parametrize(
    "text",
    ["flow: Flow that is drawn", "flow: flow, over 5: A flow", "[on=maybe]: flag: Is it on"],
)
def test_a_faulty_argument_is_named(text: str) -> None:
    with pytest.raises(DeclarationError, match="cannot read the argument") as refused:
        Arg.of(text)
    assert text in str(refused.value)


@pytest.mark.parametrize("name", [n for n, f in functions().items() if not f.elementwise])
def test_a_function_on_the_whole_has_few_arguments(name: str) -> None:
    """Those that may be left out included; what is needed is six at most."""
    args = functions()[name].args
    assert len(args) <= 10
    assert sum(arg.required for arg in args) <= 6


def test_where_each_function_is_declared_is_kept() -> None:
    wanted = declared_in()
    kept = registry._KEPT.read_text("ascii").splitlines()
    assert kept == [f"{name} {module}" for name, module in wanted.items()], (
        "run: python -m xlfuncs.catalogue.registry"
    )
    assert wanted.keys() == FUNCTIONS.keys()


def test_one_function_does_not_load_the_others() -> None:
    code = (
        "import sys; from xlfuncs.catalogue.registry import functions, find;"
        "assert len(functions()) > 100 and 'CUT_LIST' in functions();"
        "assert find('bed_area').name == 'BED_AREA';"
        "print('xlfuncs.catalogue.topics.buying.purchase' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_every_table_of_results_has_its_function() -> None:
    tables = tables_of_results()
    assert tables.keys() <= functions().keys()
    assert all(functions()[name].results == results for name, results in tables.items())


def test_find_knows_near_names() -> None:
    assert find("run_minutes").name == "RUN_MINUTES"
    with pytest.raises(KeyError, match="did you mean RUN_MINUTES"):
        find("RUN_MINUTE")
